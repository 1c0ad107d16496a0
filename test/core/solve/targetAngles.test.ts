import { describe, expect, it } from 'vitest';
import { validateStudy } from '../../../core/contract/load.ts';
import type { Target } from '../../../core/contract/study.ts';
import { WGS84_EARTH } from '../../../core/earth/earthConstants.ts';
import { stateFromElements } from '../../../core/earth/orbit.ts';
import { compileStudy, PAYLOAD, startValues } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { OrbitTarget } from '../../../core/solve/target.ts';
import { r1 } from '../flight/studies.ts';

const DEG = Math.PI / 180;
const R = WGS84_EARTH.radius_m;
const target: Target = {
  perigee_m: 150_000,
  apogee_m: 900_000,
  inclination_deg: 40,
  ascendingNode_deg: 250,
  argumentOfPerigee_deg: 110,
};
const rp = R + target.perigee_m;
const ra = R + target.apogee_m;

interface Place {
  readonly perigee: number;
  readonly apogee: number;
  readonly i: number;
  readonly node: number;
  readonly argument: number;
  readonly nu: number;
}
const ON: Place = { perigee: rp, apogee: ra, i: 40, node: 250, argument: 110, nu: 0 };

/** State on an orbit, by the classical elements; angles in degrees. */
function place(change: Partial<Place>): Float64Array {
  const { perigee, apogee, i, node, argument, nu } = { ...ON, ...change };
  const e = (apogee - perigee) / (apogee + perigee);
  const state = new Float64Array(6);
  stateFromElements(
    {
      semiLatusRectum_m: perigee * (1 + e),
      eccentricity: e,
      inclination_rad: i * DEG,
      raan_rad: node * DEG,
      argumentOfPerigee_rad: argument * DEG,
      trueAnomaly_rad: nu * DEG,
    },
    WGS84_EARTH.gm_m3ps2,
    state,
  );
  return state;
}

function misses(of: Target, state: Float64Array): number[] {
  const orbit = new OrbitTarget(of);
  const out = new Float64Array(orbit.count);
  orbit.residuals(state, out);
  return [...out];
}
// Rounding of 1e-16 over quantities of 650 residual units.
const ZERO = 1e-11;

describe('a target with angles', () => {
  it('is met by its own orbit: at perigee, and anywhere on it where that is allowed', () => {
    for (const miss of misses(target, place({}))) expect(Math.abs(miss)).toBeLessThan(ZERO);
    for (let nu = -180; nu < 180; nu += 17) {
      for (const miss of misses({ ...target, insertion: 'anywhere' }, place({ nu })))
        expect(Math.abs(miss), `true anomaly ${nu}`).toBeLessThan(ZERO);
    }
    expect(Math.max(...misses(target, place({ nu: 5 })).map(Math.abs))).toBeGreaterThan(0.1);
  });

  it('takes as many conditions as it names, and no angle that it does not name', () => {
    const { perigee_m, apogee_m } = target;
    const counts: [Partial<Target>, number][] = [
      [{}, 3],
      [{ inclination_deg: 40 }, 4],
      [{ inclination_deg: 40, ascendingNode_deg: 250 }, 5],
      [{ inclination_deg: 40, argumentOfPerigee_deg: 110 }, 5],
      [{ inclination_deg: 40, ascendingNode_deg: 250, argumentOfPerigee_deg: 110 }, 6],
    ];
    for (const [named, count] of counts) {
      const pinned = { perigee_m, apogee_m, ...named };
      expect(new OrbitTarget(pinned).count).toBe(count);
      expect(new OrbitTarget({ ...pinned, insertion: 'anywhere' }).count).toBe(count - 1);
    }
    const free = { perigee_m, apogee_m, inclination_deg: 40, insertion: 'anywhere' as const };
    const turned = place({ node: 13, argument: 77, nu: 30 });
    for (const miss of misses(free, turned)) expect(Math.abs(miss)).toBeLessThan(ZERO);
    for (const miss of misses({ ...free, argumentOfPerigee_deg: 77 }, turned))
      expect(Math.abs(miss)).toBeLessThan(ZERO);
  });

  it.each(['perigee', 'anywhere'] as const)(
    'is missed by every element that is off, by the arc that it is off: insertion at %s',
    (insertion) => {
      const of = { ...target, insertion };
      const nu = insertion === 'perigee' ? 0 : 40;
      const size = (change: Partial<Place>): number => Math.hypot(...misses(of, place({ nu, ...change })));
      // A degree turns the velocity by 1/57 of some 8 km/s.
      const speed = new OrbitTarget(of).speed_mps / 100;
      expect(size({ i: 41 }) / (speed * DEG)).toBeCloseTo(1, 1);
      // The node drags the perigee along by cos i, which the argument sees.
      expect(size({ node: 251 }) / (speed * DEG)).toBeGreaterThan(0.6);
      expect(size({ argument: 111 }) / (speed * DEG)).toBeCloseTo(1, 1);
      expect(size({ perigee: rp + 10_000 })).toBeGreaterThan(0.05);
      expect(size({ apogee: ra + 10_000 })).toBeGreaterThan(0.01);
      // The same line of nodes or apsides the other way round is no solution.
      expect(size({ i: 140, node: 70 })).toBeGreaterThan(speed);
      expect(size({ argument: 290 })).toBeGreaterThan(speed);
    },
  );

  it('is well-conditioned near perigee even where the ellipse is nearly round', () => {
    for (const apogee_m of [151_500, 160_000, 400_000]) {
      const flat: Target = { perigee_m: 150_000, apogee_m, insertion: 'anywhere' };
      const state = place({ apogee: R + apogee_m, nu: 3 });
      const base = misses(flat, state);
      // In steps of 10 km of height and 100 m/s along the path and across.
      const up = [0, 1, 2].map((k) => state[k]! / Math.hypot(state[0]!, state[1]!, state[2]!));
      const along = [3, 4, 5].map((k) => state[k]! / Math.hypot(state[3]!, state[4]!, state[5]!));
      const columns = [
        [...up.map((u) => u * 1e4), 0, 0, 0],
        [0, 0, 0, ...along.map((u) => u * 100)],
      ].map((step) =>
        misses(
          flat,
          state.map((each, k) => each + 1e-5 * step[k]!),
        ).map((each, k) => (each - base[k]!) / 1e-5),
      );
      const [[a, c], [b, d]] = columns as [[number, number], [number, number]];
      const product = a * a + b * b + c * c + d * d;
      const det = Math.abs(a * d - b * c);
      const condition = (product + Math.sqrt(Math.max(0, product * product - 4 * det * det))) / (2 * det);
      expect(condition, `apogee ${apogee_m}`).toBeLessThan(60);
    }
  });

  it('inserted anywhere carries no less than inserted at its perigee', () => {
    const solve = (insertion: 'perigee' | 'anywhere') =>
      solvePayload(
        compileStudy(r1((study) => (study.target = { perigee_m: 150_000, apogee_m: 400_000, insertion }))),
      );
    const pinned = solve('perigee');
    const free = solve('anywhere');
    expect([pinned.status, free.status]).toEqual(['converged', 'converged']);
    console.log(
      `150 × 400 km: ${pinned.payload_kg.toFixed(3)} kg at perigee, ${free.payload_kg.toFixed(3)} kg anywhere`,
    );
    // Both are good to a gram.
    expect(free.payload_kg).toBeGreaterThanOrEqual(pinned.payload_kg - 0.002);
    const study = compileStudy(
      r1((s) => (s.target = { perigee_m: 150_000, apogee_m: 400_000, insertion: 'anywhere' })),
    );
    const { orbit } = recordFlight(study, free.values);
    // The solve's steps are coarser than the record's: metres of radius, over a derivative of apogee by speed of 3.5 km per m/s.
    expect(orbit!.perigeeHeight_m).toBeCloseTo(150_000, -1.7);
    expect(orbit!.apogeeHeight_m).toBeCloseTo(400_000, -2);
  });

  it('is refused where the orbit has no such angle', () => {
    const refused = (change: Partial<Target>): string => {
      const study = structuredClone(r1());
      Object.assign(study.target, change);
      const result = validateStudy(study);
      return result.ok ? 'accepted' : result.problems[0]!.sentence;
    };
    expect(refused({ ascendingNode_deg: 3 })).toContain('target.ascendingNode_deg: received 3');
    expect(refused({ apogee_m: 400_000, inclination_deg: 0, argumentOfPerigee_deg: 3 })).toContain(
      'target.argumentOfPerigee_deg',
    );
    expect(refused({ inclination_deg: 30, argumentOfPerigee_deg: 3 })).toContain('at least 1000 m above');
    expect(refused({ insertion: 'anywhere' })).toContain('target.insertion');
    expect(
      refused({ apogee_m: 400_000, insertion: 'anywhere', inclination_deg: 30, ascendingNode_deg: 3 }),
    ).toBe('accepted');
  });
});

describe('constants of the Earth', () => {
  const own = {
    gravitationalParameter_m3ps2: 3.986e14,
    equatorialRadius_m: 6_378_145,
    rotationRate_radps: 7e-5,
  };

  it('when they state WGS 84 change nothing, bit for bit', () => {
    const plain = recordFlight(compileStudy(r1()), startValues(compileStudy(r1())));
    const stated = compileStudy(
      r1((study) => {
        study.earth.constants = {
          gravitationalParameter_m3ps2: WGS84_EARTH.gm_m3ps2,
          equatorialRadius_m: WGS84_EARTH.radius_m,
          rotationRate_radps: WGS84_EARTH.rotation_radps,
        };
      }),
    );
    const record = recordFlight(stated, startValues(stated));
    expect(record.orbit).toEqual(plain.orbit);
    expect(record.log).toEqual(plain.log);
  });

  it('reach site, motion, air, ledger and orbit', () => {
    const compiled = compileStudy(r1((study) => (study.earth.constants = own)));
    const { state } = compiled.site;
    expect(Math.hypot(state[0]!, state[1]!, state[2]!)).toBeCloseTo(6_378_145, 6);
    expect(state[4]! / state[0]!).toBeCloseTo(7e-5, 12);
    const values = startValues(compiled);
    values[PAYLOAD]! *= 0.9;
    const record = recordFlight(compiled, values);
    expect(record.status.code).toBe('flown');
    // Speed against the ground starts at nothing, and the ledger closes only on the same rotation throughout.
    expect(record.log[0]!.speedRelative_mps).toBeCloseTo(0, 9);
    expect(Math.abs(record.ledger!.closure_mps)).toBeLessThan(1e-6);
    const answer = solvePayload(compiled);
    expect(answer.status).toBe('converged');
    const { orbit } = recordFlight(compiled, answer.values);
    expect(orbit!.perigeeHeight_m).toBeCloseTo(200_000, -1.7);
  });

  it('belong to the sphere', () => {
    const study = structuredClone(r1());
    study.earth.figure = 'ellipsoid';
    study.earth.constants = own;
    const result = validateStudy(study);
    expect(result.ok ? '' : result.problems[0]!.sentence).toContain('earth.constants');
  });
});
