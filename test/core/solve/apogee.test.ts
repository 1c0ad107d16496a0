import { describe, expect, it } from 'vitest';
import { EARTH_EQUATORIAL_RADIUS_m, EARTH_GM_m3ps2 } from '../../../core/constants/physical.ts';
import { validateStudy } from '../../../core/contract/load.ts';
import type { Study } from '../../../core/contract/study.ts';
import { orbitFromState } from '../../../core/earth/orbit.ts';
import { compileStudy } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { OrbitTarget } from '../../../core/solve/target.ts';
import { study } from '../../assets/demos.ts';

const HEIGHT_m = 200_000;
const target = new OrbitTarget({ kind: 'apogee', perigee_m: 0, apogee_m: HEIGHT_m });
const top_m = EARTH_EQUATORIAL_RADIUS_m + HEIGHT_m;

function missOf(state: number[]): number {
  const out = new Float64Array(target.count);
  target.residuals(Float64Array.from(state), out);
  return out[0]!;
}

function changed(change: (study: Study) => void): Study {
  const own = structuredClone(study('sounding'));
  own.provenance = {};
  change(own);
  const result = validateStudy(own);
  if (!result.ok) throw new Error(result.problems.map((problem) => problem.sentence).join('\n'));
  return result.study;
}

describe('an apogee alone as the target', () => {
  it('is met by a throw straight up with the energy of the height, and missed by what is wanting', () => {
    const r = EARTH_EQUATORIAL_RADIUS_m + 30_000;
    const speed_mps = Math.sqrt(2 * EARTH_GM_m3ps2 * (1 / r - 1 / top_m));
    expect(target.count).toBe(1);
    // Rounding of a radius of 6.6e6 m in units of 10 km.
    expect(Math.abs(missOf([0, r, 0, 0, speed_mps, 0]))).toBeLessThan(1e-12);
    // In the unit of 10 km: 1 km too high to first order, and gravity falls by 0.03 % on the way.
    const higher_mps = Math.sqrt(2 * EARTH_GM_m3ps2 * (1 / r - 1 / (top_m + 1000)));
    expect(missOf([0, r, 0, 0, higher_mps, 0])).toBeCloseTo(0.1, 4);
  });

  it('is met by an arc whose apogee is there, wherever on it', () => {
    // The ellipse from 6000 km to the height, at its far end and 40° of eccentric anomaly before.
    const a = 0.5 * (6_000_000 + top_m);
    const e = (top_m - 6_000_000) / (top_m + 6_000_000);
    for (const anomaly of [Math.PI, Math.PI - 0.7]) {
      const n = Math.sqrt(EARTH_GM_m3ps2 / a ** 3);
      const rate = n / (1 - e * Math.cos(anomaly));
      const b = a * Math.sqrt(1 - e * e);
      const state = [
        a * (Math.cos(anomaly) - e),
        b * Math.sin(anomaly),
        0,
        -a * Math.sin(anomaly) * rate,
        b * Math.cos(anomaly) * rate,
        0,
      ];
      const orbit = orbitFromState(Float64Array.from(state), EARTH_GM_m3ps2, EARTH_EQUATORIAL_RADIUS_m);
      expect(orbit.apogeeHeight_m).toBeCloseTo(HEIGHT_m, 4);
      expect(Math.abs(missOf(state))).toBeLessThan(1e-11);
    }
  });

  it('asks for at least the ideal velocity of the height', () => {
    const start = Float64Array.of(EARTH_EQUATORIAL_RADIUS_m, 0, 0, 0, 0, 0);
    const least_mps = target.leastVelocity_mps(start, EARTH_EQUATORIAL_RADIUS_m);
    expect(least_mps).toBeCloseTo(
      Math.sqrt(2 * EARTH_GM_m3ps2 * (1 / EARTH_EQUATORIAL_RADIUS_m - 1 / top_m)),
      6,
    );
  });
});

describe('a sounding rocket', () => {
  it('carries the payload with which it turns round at the height', () => {
    const compiled = compileStudy(study('sounding'));
    const answer = solvePayload(compiled);
    expect(answer.status, answer.message).toBe('converged');
    const { orbit, log, status } = recordFlight(compiled, answer.values);
    expect(status.code).toBe('flown');
    // The solve's steps err by decimetres.
    expect(Math.abs(orbit!.apogeeHeight_m - HEIGHT_m)).toBeLessThan(1);
    const end = log.find(({ id }) => id === 'insertion')!;
    expect(end.name).toBe('end of the ascent');
    // It ends where it climbs no more.
    expect(Math.abs(end.flightPathAngle_deg)).toBeLessThan(0.01);
  });

  it('carries the same without air whether it is told at burn-out or at the top, and more than with air', () => {
    const vacuum = (own: Study): void => {
      own.earth = { gravity: 'central', figure: 'sphere', atmosphere: { kind: 'none' } };
      own.site.height_m = 0;
    };
    const flown = solvePayload(compileStudy(changed(vacuum)));
    const told = solvePayload(
      compileStudy(
        changed((own) => {
          vacuum(own);
          own.sequence.finalCutoff = 'second-burnout';
          own.sequence.events = own.sequence.events.filter(({ id }) => id !== 'top');
        }),
      ),
    );
    expect(flown.status, flown.message).toBe('converged');
    expect(told.status, told.message).toBe('converged');
    // Without air Kepler's ellipse is flown: only the steps' errors are left.
    expect(Math.abs(flown.payload_kg - told.payload_kg)).toBeLessThan(1e-3);
    expect(flown.payload_kg).toBeGreaterThan(solvePayload(compileStudy(study('sounding'))).payload_kg + 10);
  });

  it('carries less, higher; and is told when there is nothing left', () => {
    const at = (height_m: number): ReturnType<typeof solvePayload> =>
      solvePayload(compileStudy(changed((own) => (own.target.apogee_m = height_m))));
    expect(at(220_000).payload_kg).toBeLessThan(at(180_000).payload_kg - 20);
    expect(at(3_000_000).status).toBe('cannotReachOrbit');
  });

  it('is refused where the document says more than an apogee', () => {
    const own = structuredClone(study('sounding'));
    own.target = { kind: 'apogee', perigee_m: 100_000, apogee_m: HEIGHT_m, inclination_deg: 60 };
    const result = validateStudy(own);
    expect(result.ok ? [] : result.problems.map(({ path }) => path).sort()).toEqual([
      'target.inclination_deg',
      'target.perigee_m',
    ]);
  });
});
