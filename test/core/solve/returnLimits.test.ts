import { describe, expect, it } from 'vitest';
import { geodesicBetween } from '../../../core/earth/geodesic.ts';
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
    expect(early.outcome.status).toBe('notSolved');
    expect(early.outcome.message).toContain(
      'The entry burn never ends as its plan says: its dynamic pressure',
    );
    const never = solved(
      'downrange',
      (plan) => (plan.entry = entry({ kind: 'heating', heatFlux_Wpm2: 5e7 }, free)),
    );
    expect(never.outcome.status).toBe('notSolved');
    expect(never.outcome.message).toContain(
      'The entry burn never starts: its stagnation heating is not reached',
    );
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
