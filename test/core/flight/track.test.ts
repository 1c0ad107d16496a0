import { describe, expect, it } from 'vitest';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { launchFrame } from '../../../core/flight/launch.ts';
import { observePad } from '../../../core/flight/pad.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { segmentAt, TrackReader } from '../../../core/flight/track.ts';
import { readLedger } from '../../../core/flight/ledger.ts';
import { Worst } from '../earth/worst.ts';
import { event, plannedTime_s, r1WithGap } from './studies.ts';

const compiled = compileStudy(
  r1WithGap(4, (study) => {
    study.earth.gravity = 'j2';
    study.earth.figure = 'ellipsoid';
    study.vehicle.bodies.booster!.engineGroups.main!.shutDown = { delay_s: 0, ramp_s: 1 };
    event(study, 'separation').trigger = { kind: 'after', events: ['meco'], delay_s: 2 };
    event(study, 'booster-ignition').trigger = { kind: 'time', time_s: -1 };
  }),
);
const values = startValues(compiled);
const record = recordFlight(compiled, values);
const [main, booster] = record.tracks;
const launch = launchFrame(compiled.site, values[1]!);
const reader = new TrackReader(compiled, main!, values, launch);

describe('a recorded track', () => {
  it('can be read anywhere: what it says of forces is how its path bends', () => {
    // Against differences over ±0.05 s of the stored path: of fourth order between steps, and the third derivative of the
    // velocity, 1e-3 m/s⁴ in the transonic, times h²/6.
    const bend = new Worst('sensed acceleration against the path', 'm/s²', 1e-3);
    const along = new Worst('velocity against the path', 'm/s', 1e-2);
    const y = [new Float64Array(12), new Float64Array(12)] as const;
    for (const t of [20, 58, 90, 140, 152, 300, 550]) {
      main!.steps.sample(t - 0.05, y[0]);
      main!.steps.sample(t + 0.05, y[1]);
      const now = reader.at(t);
      const slope = Array.from({ length: 6 }, (_, i) => (y[1][i]! - y[0][i]!) / 0.1);
      along.add(t, Math.hypot(...[0, 1, 2].map((i) => slope[i]! - now.state[3 + i]!)));
      const gravity = new Float64Array(3);
      compiled.setting.gravity.acceleration(now.state[0]!, now.state[1]!, now.state[2]!, gravity);
      const felt = Math.hypot(...[0, 1, 2].map((i) => slope[3 + i]! - gravity[i]!));
      bend.add(t, felt - now.sensed_mps2);
    }
    bend.report();
    along.report();
  });

  it('has at a boundary what was before and what came after', () => {
    const cut_s = plannedTime_s(compiled, 'separation');
    const before = { ...reader.at(cut_s, true), state: [...reader.at(cut_s, true).state] };
    const mass = before.mass_kg;
    const after = reader.at(cut_s);
    expect(mass - after.mass_kg).toBeCloseTo(236_000, 5);
    expect([...after.state]).toEqual(before.state);
    expect(segmentAt(main!, cut_s)).toBe(segmentAt(main!, cut_s - 1e-6) + 1);
    expect(after.segment).toBe(before.segment + 1);
  });

  it('is held at its ends', () => {
    const first = [...reader.at(main!.start_s).state];
    expect([...reader.at(-500).state]).toEqual(first);
    // A difference tells no zero from a negative one.
    expect(first.map((each, i) => each - (compiled.site.state[i] ?? 0)).every((each) => each === 0)).toBe(
      true,
    );
    const last = [...reader.at(main!.end_s).state];
    expect([...reader.at(1e9).state]).toEqual(last);
  });

  it('stands upright at rest and lies flat in orbit', () => {
    const start = reader.at(0);
    expect(start.flightPathAngle_rad).toBe(Math.PI / 2);
    expect(start.flightPathAngleInertial_rad).toBeCloseTo(0, 2);
    expect(start.speedRelative_mps).toBe(0);
    const end = reader.at(1e9);
    expect(Math.abs(end.flightPathAngle_rad)).toBeLessThan(0.05);
    expect(end.flightPathAngle_rad / end.flightPathAngleInertial_rad).toBeCloseTo(
      end.speedInertial_mps / end.speedRelative_mps,
      2,
    );
  });

  it('reads in any order the same', () => {
    const times = [500, 3, 148.6, 20, 0, 587, 150, 12];
    const once = times.map((t) => [...reader.at(t).state, ...reader.now.aim, reader.now.mass_kg]);
    const fresh = times.map((t) => {
      const now = new TrackReader(compiled, main!, values, launch).at(t);
      return [...now.state, ...now.aim, now.mass_kg];
    });
    expect(once).toEqual(fresh);
  });

  it('of a freed piece goes on from the stack, its last thrust the way it pointed', () => {
    const piece = new TrackReader(compiled, booster!, values, launch);
    const start = piece.at(booster!.start_s);
    expect([...start.state]).toEqual([...reader.at(booster!.start_s, true).state.slice(0, 6)]);
    expect([...start.aim]).toEqual([...reader.at(booster!.start_s, true).aim]);
    expect(start.mass_kg).toBeCloseTo(236_000, 5);
    expect(() => readLedger(booster!)).toThrow('readLedger: the track "booster" was flown without a ledger');
  });
});

describe('the pad', () => {
  it('is observed only before release', () => {
    const now = observePad(compiled, values, launch, 0, -1);
    expect(now.mass_kg).toBe(2_163_000);
    expect(now.height_m).toBeCloseTo(0, 1);
    // The figure's radius is 5 cm off the ellipsoid here: 0.6 Pa, on 17.6 m².
    expect(Math.abs(now.thrustNet_N - 16 * (1.9e6 - 1.1 * 101_325))).toBeLessThan(15);
    const flown = compiled.plan.segments.findIndex((segment) => !segment.held);
    expect(() => observePad(compiled, values, launch, flown, 0)).toThrow(
      /received segment 1, allowed is one before release/,
    );
    expect(() => observePad(compiled, values, launch, 999, 0)).toThrow(/received segment 999/);
  });
});

it('counts of a record tell how it was integrated', () => {
  const { counts } = record;
  expect(counts.acceptedSteps).toBe(main!.steps.count);
  expect(counts.rightHandSides).toBeGreaterThan(6 * counts.acceptedSteps);
  // Edges of layers and of the drag table end steps.
  expect(counts.shortenedSteps).toBeGreaterThan(10);
});
