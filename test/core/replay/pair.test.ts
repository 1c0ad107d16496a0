/** Two flights beside each other: instants, the side view and speeds, against geodesics, a sphere and the flight's own log. */
import { describe, expect, it } from 'vitest';
import { geodesicBetween } from '../../../core/earth/geodesic.ts';
import { spaceFixed } from '../../../core/flight/space.ts';
import { readTrack } from '../../../core/replay/flightData.ts';
import { toDegrees } from '../../../core/replay/globe.ts';
import { instants_s, sidePath, speedSince_mps } from '../../../core/replay/pair.ts';
import { gapEvent } from '../../../core/study/gap.ts';
import { allStudies, flightOf } from './studies.ts';

const GAP_s = 10;
const RAD = Math.PI / 180;

/** A demo or the reference vehicle, flown with the gap. */
function flown(name: string) {
  const { study } = allStudies().find((each) => each.name.startsWith(name))!;
  const { compiled, record, flight } = flightOf(study, GAP_s);
  const ignition = record.log.find(({ id }) => id === gapEvent(study))!;
  const reader = readTrack(compiled, flight, 0);
  return { study, ignition, reader, zero_s: ignition.time_s - GAP_s };
}

describe('Instants', () => {
  it('hold both ends and the whole multiples of the step between them', () => {
    expect(instants_s(-1.5, 2.2, 1)).toEqual([-1.5, -1, 0, 1, 2, 2.2]);
    expect(instants_s(-2, 2, 1)).toEqual([-2, -1, 0, 1, 2]);
    expect(instants_s(0.2, 0.3, 1)).toEqual([0.2, 0.3]);
  });
});

describe('A flight from the side', () => {
  it('lies as far over the ellipsoid as the geodesic says, to 0.3 %', () => {
    const { study, ignition, reader, zero_s } = flown('heavy');
    const path = sidePath(reader, reader, zero_s, [GAP_s]);
    const here = spaceFixed(reader.at(ignition.time_s).state, ignition.time_s, study.site);
    const { distance_m } = geodesicBetween(
      study.site.latitude_deg * RAD,
      study.site.longitude_deg * RAD,
      here.latitude_deg * RAD,
      here.longitude_deg * RAD,
    );
    // The flattening, 1 in 298, is the most that mean radius and true curvature can differ by.
    expect(Math.abs(path.along_m[0]! / distance_m - 1)).toBeLessThan(0.0034);
    expect(path.height_m[0]).toBeCloseTo(ignition.height_m, 3);
  });

  it('lies as far over a sphere as the law of cosines says', () => {
    const { study, ignition, reader, zero_s } = flown('r1');
    const path = sidePath(reader, reader, zero_s, [GAP_s]);
    const [x = 0, y = 0, z = 0] = reader.at(ignition.time_s).state;
    const r = Math.hypot(x, y, z);
    const turn = reader.rotation_radps * ignition.time_s;
    const east = (Math.cos(turn) * x + Math.sin(turn) * y) / r;
    const { latitude_deg, longitude_deg } = toDegrees(
      east,
      (Math.cos(turn) * y - Math.sin(turn) * x) / r,
      z / r,
    );
    const [p, q] = [study.site.latitude_deg * RAD, latitude_deg * RAD];
    const apart = (longitude_deg - study.site.longitude_deg) * RAD;
    const angle = Math.acos(Math.sin(p) * Math.sin(q) + Math.cos(p) * Math.cos(q) * Math.cos(apart));
    // Both in double precision; the arc cosine of a small angle keeps nine digits.
    expect(path.along_m[0]! / ((r - ignition.height_m) * angle)).toBeCloseTo(1, 6);
    expect(path.height_m[0]).toBeCloseTo(ignition.height_m, 3);
  });

  it('leaves out what lies before and after the track', () => {
    const { reader } = flown('r1');
    const { start_s, end_s } = reader.track;
    const path = sidePath(reader, reader, 0, [start_s - 1, start_s, end_s, end_s + 1]);
    expect(path.since_s).toEqual([start_s, end_s]);
    expect(path.along_m[0]).toBeCloseTo(0, 6);
  });

  it('slows over the wait by what gravity takes along the path', () => {
    const { reader, zero_s } = flown('r1');
    // After tail-off nothing acts but gravity and very thin air: dv/dt = -g sin(gamma) against the turning ground, but for
    // the turning itself, which gives and takes some 0.03 m/s² there; the mean of both ends does for the sine. Over 6 s.
    const lost = speedSince_mps(reader, zero_s, 3) - speedSince_mps(reader, zero_s, 9);
    const sines = [3, 9].map((t) => Math.sin(reader.at(zero_s + t).flightPathAngle_rad));
    const [x = 0, y = 0, z = 0] = reader.at(zero_s + 6).state;
    // The Earth's gravitational constant of WGS 84, m³/s².
    const gravity_mps2 = 3.986004418e14 / (x * x + y * y + z * z);
    expect(Math.abs(lost - gravity_mps2 * 0.5 * (sines[0]! + sines[1]!) * 6)).toBeLessThan(0.6);
  });
});
