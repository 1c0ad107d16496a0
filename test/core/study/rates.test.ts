import { describe, expect, it } from 'vitest';
import { breakEven } from '../../../core/study/breakEven.ts';
import { gapPath, withNumbers } from '../../../core/study/numbers.ts';
import {
  findRates,
  orderRates,
  rateSteps,
  sortRates,
  uncertaintyWorth_kg,
  type RatesOptions,
  type RatesResult,
} from '../../../core/study/rates.ts';
import { study } from '../../assets/demos.ts';

function rates(options: RatesOptions = {}): RatesResult {
  const steps = rateSteps(study('heavy'), options);
  for (;;) {
    const step = steps.next();
    if (step.done === true) return step.value;
  }
}

describe('exchange rates', () => {
  it('takes a kilogram of payload for a kilogram on the body that carries it', () => {
    const { rates: found } = rates({ find: 'upper.dryMass' });
    // Payload and stage fly as one mass, so the rate is −1 whatever the vehicle; the flights differ by 1e-6.
    expect(found).toHaveLength(1);
    expect(Math.abs(found[0]!.perUnit_kg + 1)).toBeLessThan(1e-5);
    expect(found[0]!.perPercent_kg).toBeCloseTo(-478, 2);
  });

  it('is worth its slope times the deviation of what is said of the number, and can be ordered by it', () => {
    const heavy = study('heavy');
    const path = 'vehicle.bodies.upper.dryMass_kg';
    const { rates: found } = rates({
      only: [path, 'vehicle.bodies.upper.propellant.residual_kg', 'site.latitude_deg'],
    });
    expect(found).toHaveLength(3);
    const dry = found.find((rate) => rate.path === path)!;
    // A triangle's variance is (a² + ab + b²)/18 of its two sides (E. W. Weisstein, MathWorld: Triangular Distribution, rewritten).
    const [a, b] = [47_800 - 45_410, 52_580 - 47_800];
    expect(uncertaintyWorth_kg(heavy, dry)).toBeCloseTo(-Math.sqrt((a * a + a * b + b * b) / 18), 1);
    const [residual] = found.filter((rate) => rate.path.endsWith('residual_kg'));
    // An even distribution's deviation is its width over √12.
    expect(uncertaintyWorth_kg(heavy, residual!)).toBeCloseTo(
      (residual!.perUnit_kg * 1920) / Math.sqrt(12),
      6,
    );
    const order = (by: 'uncertainty' | 'unit'): string[] =>
      orderRates(heavy, found, by).map((rate) => rate.path.split('.').at(-1)!);
    // Nothing is said of how uncertain the latitude is; a degree of it is worth far more than a kilogram.
    expect(order('uncertainty')).toEqual(['dryMass_kg', 'residual_kg', 'latitude_deg']);
    expect(order('unit')[0]).toBe('latitude_deg');
  });

  it('agrees with solving again on both sides, number by number', () => {
    let compared = 0;
    let worst = 0;
    for (const find of [
      'engineGroups',
      'propellant',
      'target.',
      'fittings',
      'release',
      'latitude',
      'referenceArea',
      'lead_s',
    ]) {
      for (const rate of rates({ find, verify: true }).rates) {
        const off = Math.abs(rate.perUnit_kg - rate.verified_kg!);
        worst = Math.max(worst, off / Math.max(Math.abs(rate.perUnit_kg), 1e-9));
        compared++;
        // Payloads are good to some grams, and the step's worth is at least a tenth of a kilogram for those that matter.
        const size = Math.abs(rate.perPercent_kg);
        if (!(size < 1)) expect(off, rate.path).toBeLessThan(2e-3 * Math.abs(rate.perUnit_kg));
      }
    }
    console.log(`rates: ${compared} solved again, worst apart by a share of ${worst.toExponential(1)}`);
    expect(compared).toBeGreaterThan(25);
  });

  it('gives a number that the solve keeps its worth, none to one that it chooses, and none to drawings', () => {
    const { without, idle } = rates({ find: '' });
    expect(without.map((each) => each.path)).toContain('sequence.events.kick.action.law.angle_deg');
    expect(without.find((each) => each.path.endsWith('main.count'))?.why).toBe('it counts something');
    expect(idle).toContain('vehicle.bodies.upper.shape.length_m');
  });

  it('is sorted by what a per cent is worth, and found by words in any order', () => {
    const { rates: found } = rates({ find: 'propellant' });
    const sizes = found.map((each) => Math.abs(each.perPercent_kg)).filter((x) => !Number.isNaN(x));
    expect(sizes).toEqual([...sizes].sort((a, b) => b - a));
    expect(sortRates([...found].reverse()).map((each) => each.path)).toEqual(found.map((each) => each.path));
    expect(findRates(found, 'Usable UPPER').map((each) => each.path)).toEqual([
      'vehicle.bodies.upper.propellant.usable_kg',
    ]);
  });
});

describe('breaking even', () => {
  const RING = 'vehicle.bodies.booster.fittings.ring.mass_kg';
  const GAP = gapPath('ignition');

  it('finds the gap that the ring is worth, where the slope at the start says nothing', () => {
    const result = breakEven(study('heavy'), { change: { path: RING, value: 0 }, against: GAP });
    expect(result.status).toBe('solved');
    // The demo's notes say some 7 s.
    expect(result.value).toBeGreaterThan(6);
    expect(result.value).toBeLessThan(9);
    expect(result.changed_kg).toBeGreaterThan(result.payload_kg + 800);
    // And the other way round, from there.
    const back = breakEven(
      withNumbers(study('heavy'), [
        { path: RING, value: 0 },
        { path: GAP, value: result.value },
      ]),
      {
        change: { path: GAP, value: -1.5 },
        against: RING,
      },
    );
    // Found to 0.01 kg of payload, which is 0.07 kg of ring, on either way.
    expect(Math.abs(back.value - 6200)).toBeLessThan(0.3);
    expect(Math.abs(back.linear - 6200)).toBeLessThan(150);
  });

  it('says so where nothing makes up for the change', () => {
    const result = breakEven(study('heavy'), {
      change: { path: RING, value: 0 },
      against: 'vehicle.bodies.upper.shape.length_m',
    });
    expect(result.status).toBe('notSolved');
    expect(result.value).toBeNaN();
    expect(result.message).toContain('vehicle.bodies.upper.shape.length_m');
  });

  it('refuses a path that leads nowhere and a value out of range', () => {
    expect(() => breakEven(study('heavy'), { change: { path: 'x', value: 0 }, against: GAP })).toThrow(
      'x: received the unknown name "x"',
    );
    expect(() => breakEven(study('heavy'), { change: { path: GAP, value: 1e4 }, against: RING })).toThrow(
      'allowed is a number from -60 to 600',
    );
  });
});
