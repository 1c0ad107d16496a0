import { describe, expect, it } from 'vitest';
import { geodesicBetween } from '../../../core/earth/geodesic.ts';
import { RECORD_ACCURACY } from '../../../core/flight/accuracy.ts';
import { ReturnEngine } from '../../../core/recovery/engine.ts';
import { reviewReturn } from '../../../core/recovery/review.ts';
import { solveReturn } from '../../../core/solve/return.ts';
import { heavyWith, parted } from '../recovery/studies.ts';

type Change = Parameters<typeof heavyWith>[1];

function solved(id: string, change: Change) {
  const own = parted(heavyWith(id, change), id);
  const outcome = solveReturn(own.compiled, own.start);
  const review =
    outcome.status === 'converged' ? reviewReturn(own.compiled, own.start, outcome.values) : null;
  const peak = (kind: string): number => review!.peaks.find((each) => each.kind === kind)!.value;
  return { ...own, outcome, review, peak };
}

/** The demo's burn with other edges. */
const entry = (start: object, end: object): object => ({
  engines: [{ group: 'staging' }],
  throttle: 1,
  start,
  end,
});
const free = { kind: 'free' };

describe('limits of a return', () => {
  it('are kept for heating and for load, which then cost propellant and are named', () => {
    const plain = solved('downrange', () => null);
    const heated = solved(
      'downrange',
      (plan) => (plan.limits = { dynamicPressure_Pa: 70_000, heatFlux_Wpm2: 80_000 }),
    );
    const loaded = solved(
      'downrange',
      (plan) => (plan.limits = { dynamicPressure_Pa: 70_000, load_mps2: 70 }),
    );
    expect(plain.peak('heating')).toBeGreaterThan(80_000);
    expect(plain.peak('load')).toBeGreaterThan(70);
    // A peak is held to the solve's tolerance of a millionth of the limit, and reviewed with other steps.
    expect(heated.peak('heating') / 80_000).toBeCloseTo(1, 4);
    expect(loaded.peak('load') / 70).toBeCloseTo(1, 4);
    for (const [own, kind] of [
      [heated, 'heating'],
      [loaded, 'load'],
    ] as const) {
      expect(own.outcome.used_kg).toBeGreaterThan(plain.outcome.used_kg + 100);
      expect(own.outcome.binding.some((each) => each.kind === kind)).toBe(true);
    }
  }, 60_000);

  it('have the price that solving again finds', () => {
    const at = (limit: number) =>
      solved('downrange', (plan) => (plan.limits = { dynamicPressure_Pa: 70_000, heatFlux_Wpm2: limit }))
        .outcome;
    const base = at(80_000);
    const eased = at(80_400);
    const priced_kg = base.binding
      .filter((each) => each.kind === 'heating')
      .reduce((sum, each) => sum + each.multiplier_kg, 0);
    // The multiplier is for the limit as a whole; half a per cent of it has a curvature of some per cent.
    expect((base.used_kg - eased.used_kg) / (0.005 * priced_kg)).toBeCloseTo(1, 1);
  }, 60_000);
});

describe('edges of an entry burn', () => {
  it.each([
    ['dynamic pressure', { kind: 'dynamicPressure', pressure_Pa: 5000 }],
    ['heating', { kind: 'heating', heatFlux_Wpm2: 50_000 }],
  ])('start it at a %s, where it takes more than where the solve decides', (_name, start) => {
    const plain = solved('downrange', () => null);
    const {
      outcome,
      compiled,
      start: from,
    } = solved('downrange', (plan) => (plan.entry = entry(start, free)));
    expect(outcome.status).toBe('converged');
    // A burn that starts where it must cannot be better.
    expect(outcome.used_kg).toBeGreaterThan(plain.outcome.used_kg);
    const burn = reviewReturn(compiled, from, outcome.values)!.burns.find(({ phase }) => phase === 'entry')!;
    expect(burn.propellant_kg).toBeGreaterThan(10_000);
  });

  it('end it at a heating that falls', () => {
    const { outcome } = solved(
      'downrange',
      (plan) => (plan.entry = entry(free, { kind: 'heating', heatFlux_Wpm2: 30_000 })),
    );
    expect(outcome.status).toBe('converged');
  }, 60_000);

  it('are refused with a sentence where they never come about', () => {
    const both = { kind: 'dynamicPressure', pressure_Pa: 60_000 };
    const early = solved('downrange', (plan) => {
      plan.entry = entry({ kind: 'dynamicPressure', pressure_Pa: 5000 }, both);
      plan.limits = {};
    });
    expect(early.outcome.status).toBe('edgeNeverComes');
    expect(early.outcome.message).toMatch(
      /^The entry burn never ends: it is to end at a dynamic pressure of 60.0 kPa, falling, .* comes to \d+\.\d kPa at most;/,
    );
    const never = solved(
      'downrange',
      (plan) => (plan.entry = entry({ kind: 'heating', heatFlux_Wpm2: 5e7 }, free)),
    );
    expect(never.outcome.status).toBe('edgeNeverComes');
    expect(never.outcome.message).toMatch(
      /^The entry burn never starts: it is to start at a stagnation heating of 5.000\.0 W\/cm², and the flight comes to \d+\.\d W\/cm² at most/,
    );
    const above = solved(
      'downrange',
      (plan) => (plan.entry = entry({ kind: 'altitude', height_m: 150_000 }, free)),
    );
    // Half the square of the vertical speed at parting over gravity, above where it parts.
    const { state } = above.start;
    const [x = 0, y = 0, z = 0, vx = 0, vy = 0, vz = 0] = state;
    const r = Math.hypot(x, y, z);
    const climb = (x * vx + y * vy + z * vz) / r;
    const across = Math.sqrt(vx * vx + vy * vy + vz * vz - climb * climb);
    const apex_km = (r - 6378_137 + (climb * climb) / 2 / (9.4 - (across * across) / r)) / 1000;
    expect(above.outcome.status).toBe('edgeNeverComes');
    const told = Number(/is at (\d+\.\d) km at most/.exec(above.outcome.message)![1]);
    // A flat ground with one gravity, and the figure's radius of the equator at 5 degrees.
    expect(Math.abs(told - apex_km)).toBeLessThan(3);
  }, 60_000);

  it('are refused where the burn starts beyond them, or stops the fall before them', () => {
    const high = { kind: 'altitude', height_m: 70_000 };
    const slow = solved(
      'downrange',
      (plan) => (plan.entry = entry(high, { kind: 'speed', speed_mps: 4000 })),
    ).outcome;
    expect(slow.status).toBe('edgeNeverComes');
    expect(slow.message).toMatch(/at a speed of 4.000 m\/s and has only 2.\d\d\d m\/s when it starts/);
    const lifts = solved(
      'downrange',
      (plan) => (plan.entry = entry(high, { kind: 'altitude', height_m: 30_000 })),
    ).outcome;
    expect(lifts.status).toBe('edgeNeverComes');
    expect(lifts.message).toMatch(/at a height of 30.0 km, and it stops the fall at \d\d\.\d km already/);
  }, 60_000);

  it('wait for a pressure to rise above what it is to fall through', () => {
    const { outcome, compiled, start } = solved('downrange', (plan) => {
      plan.entry = entry(
        { kind: 'dynamicPressure', pressure_Pa: 5000 },
        { kind: 'dynamicPressure', pressure_Pa: 25_000 },
      );
      plan.reserve = { kind: 'taken', margin: 0 };
    });
    expect(outcome.status).toBe('converged');
    const engine = new ReturnEngine(compiled, RECORD_ACCURACY);
    expect(engine.fly(outcome.values, start)).toBe('flown');
    const ends = engine.legs.findIndex(({ phase, end }) => phase === 'entry' && end.kind === 'edge') + 1;
    engine.reenter(ends);
    const { motion } = engine;
    const state = engine.states.slice(6 * ends, 6 * ends + 6);
    motion.choosePiece(engine.times_s[ends]!, state);
    motion.derivative(engine.times_s[ends]!, state, new Float64Array(6));
    // The passage is found to rounding.
    expect(0.5 * motion.density_kgpm3 * motion.speedAir_mps ** 2).toBeCloseTo(25_000, 3);
  }, 60_000);

  it('do not light a body that is still climbing below the height at which the burn starts', () => {
    const { compiled, start, outcome } = solved(
      'downrange',
      (plan) => (plan.entry = entry({ kind: 'altitude', height_m: 100_000 }, free)),
    );
    const engine = new ReturnEngine(compiled, RECORD_ACCURACY);
    engine.fly(outcome.values, start);
    const first = engine.legs.findIndex(({ phase }) => phase === 'entry');
    const [x = 0, y = 0, z = 0, vx = 0, vy = 0, vz = 0] = engine.states.slice(6 * first, 6 * first + 6);
    const { figure } = compiled.study.setting;
    expect(figure.height_m(start.state[0]!, start.state[1]!, start.state[2]!)).toBeLessThan(100_000);
    expect(figure.height_m(x, y, z)).toBeCloseTo(100_000, 3);
    expect(x * vx + y * vy + z * vz).toBeLessThan(0);
  }, 60_000);
});

describe('limits out of reach', () => {
  it('are told with the peak that a landing cannot do without, which then is enough', () => {
    const at = (dynamicPressure_Pa: number) =>
      solved('downrange', (plan) => {
        plan.entry = entry({ kind: 'altitude', height_m: 30_000 }, free);
        plan.limits = { dynamicPressure_Pa };
        plan.reserve = { kind: 'taken', margin: 0.03 };
      }).outcome;
    const refused = at(70_000);
    expect(refused.status).toBe('cannotKeepLimits');
    expect(refused.used_kg).toBeNaN();
    const least_kPa = Number(/comes to (\d+\.\d) kPa at least/.exec(refused.message)![1]);
    // The sentence has a decimal.
    expect(at(1000 * least_kPa + 100).status).toBe('converged');
    expect(at(1000 * least_kPa - 100).status).toBe('cannotKeepLimits');
  }, 60_000);
});

describe('a chosen point', () => {
  it('is where the body lands', () => {
    const place = { kind: 'point', name: 'barge', latitude_deg: -17.4, longitude_deg: 50.6, height_m: 0 };
    const { outcome, compiled, review } = solved('to-site', (plan) => Object.assign(plan, { place }));
    expect(outcome.status).toBe('converged');
    // What a landing may miss by.
    expect(review!.miss_m).toBeLessThan(5);
    expect(review!.touchdownSpeed_mps).toBeLessThan(1);
    const [x = 0, y = 0, z = 0] = compiled.place!.position;
    const degree = Math.PI / 180;
    // On the ellipsoid tan φ = tan ψ/(1 − e²).
    const latitude = Math.atan(z / (Math.hypot(x, y) * (1 - 0.00669437999014)));
    const away = geodesicBetween(
      latitude,
      Math.atan2(y, x),
      place.latitude_deg * degree,
      place.longitude_deg * degree,
    );
    expect(away.distance_m).toBeLessThan(0.001);
    // 126 km on the way it flies anyway, so that it takes less than all the way back.
    expect(outcome.used_kg).toBeLessThan(solved('to-site', () => null).outcome.used_kg - 10_000);
  }, 60_000);
});
