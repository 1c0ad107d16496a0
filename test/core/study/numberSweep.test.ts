import { describe, expect, it } from 'vitest';
import { readPlace, readValue } from '../../../core/study/curve.ts';
import { bendOf, bendWeights, fitCurve } from '../../../core/study/fits.ts';
import {
  BAND_ROWS,
  numberSweepSteps,
  planMap,
  solveBand,
  type NumberSweep,
  type NumberSweepOptions,
} from '../../../core/study/numberSweep.ts';
import { gapPath, withNumbers } from '../../../core/study/numbers.ts';
import { besideRules, RULES_OF_THUMB } from '../../../core/study/rulesOfThumb.ts';
import { sweepGap } from '../../../core/study/sweep.ts';
import { compileStudy } from '../../../core/flight/compile.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { study } from '../../assets/demos.ts';

const GAP = gapPath('ignition');
const DRY = 'vehicle.bodies.upper.dryMass_kg';

function swept(options: NumberSweepOptions): NumberSweep {
  const steps = numberSweepSteps(study('heavy'), options);
  for (;;) {
    const step = steps.next();
    if (step.done === true) return step.value;
  }
}

describe('a sweep of a number', () => {
  const gaps = swept({
    path: GAP,
    values: [0, 5, 10],
    reference: 0,
    modes: ['reoptimised', 'held', 'fixed'],
  });

  it('gives of the gap what the sweep of the gap gives, in all modes', () => {
    const own = sweepGap(study('heavy'), {
      gaps_s: [0, 5, 10],
      reference_s: 0,
      modes: ['reoptimised', 'held', 'fixed'],
    });
    // Solves from other neighbours agree to the bound of 0.01 kg.
    gaps.points.forEach((point, i) => {
      expect([point.mode, point.value]).toEqual([own.points[i]!.mode, own.points[i]!.gap_s]);
      expect(Math.abs(point.payload_kg - own.points[i]!.payload_kg)).toBeLessThan(0.01);
    });
  });

  it('accounts for the change of ideal velocity by the losses, and for the kilograms in proportion', () => {
    const { anatomy, payload_kg } = gaps.points[2]!;
    // The closures of two ledgers, of which each is good to 1e-6 m/s.
    expect(Math.abs(anatomy!.closure_mps)).toBeLessThan(1e-5);
    expect(anatomy!.parts.reduce((sum, part) => sum + part.payload_kg, 0)).toBeCloseTo(
      anatomy!.payload_kg,
      6,
    );
    expect(payload_kg - gaps.reference.outcome.payload_kg).toBeCloseTo(anatomy!.payload_kg, 9);
    const share = (name: string): number => anatomy!.parts.find((part) => part.name === name)!.share;
    expect(share('gravity')).toBeGreaterThan(0.6);
    expect(share('steering')).toBeGreaterThan(0.05);
    // The flight of the fixed steering misses the orbit: there its losses explain nothing.
    expect(
      gaps.points.filter((point) => point.mode === 'fixed').every((point) => point.anatomy === null),
    ).toBe(true);
  });

  it('sets what the vehicle itself gains against the losses', () => {
    const { points } = swept({ path: 'vehicle.bodies.upper.engineGroups.vacuum.ispVacuum_s', values: [370] });
    const { parts, payload_kg } = points[0]!.anatomy!;
    expect(payload_kg).toBeGreaterThan(1000);
    const own = parts.find((part) => part.name === 'the vehicle itself')!;
    expect(own.velocity_mps).toBeLessThan(0);
    // Three seconds of 367 are 0.8 % of the upper stage's ideal velocity, to which gravity adds for a longer burn.
    expect(own.share).toBeGreaterThan(0.9);
  });

  it('keeps points that cannot be flown, with the reason', () => {
    const { points } = swept({ path: DRY, values: [47_800, 300_000] });
    expect(points[0]!.outcome.status).toBe('converged');
    expect(points[1]!.outcome.status).toBe('cannotReachOrbit');
    expect(points[1]!.payload_kg).toBeNaN();
  });

  it('refuses values that the place does not allow, twice the same, and none', () => {
    expect(() => swept({ path: GAP, values: [601] })).toThrow('allowed is a number from -60 to 600');
    expect(() => swept({ path: GAP, values: [1, 1] })).toThrow('received a value twice');
    expect(() => swept({ path: GAP, values: [] })).toThrow('received no value');
  });
});

describe('a map', () => {
  const x = { path: GAP, values: [0, 4, 8] };
  const y = { path: DRY, values: [44_000, 45_000, 46_000, 47_000, 48_000, 49_000] };

  it('has the payload of a cold solve at each of its points, whichever band', () => {
    const bands = planMap(study('heavy'), x, y).map((task) => solveBand(structuredClone(task)));
    expect(bands.map((band) => band.from)).toEqual([0, BAND_ROWS]);
    const payloads = bands.flatMap((band) => [...band.payloads_kg]);
    expect(payloads).toHaveLength(18);
    for (const [row, column] of [
      [1, 0],
      [3, 2],
      [5, 1],
    ] as const) {
      const own = withNumbers(study('heavy'), [
        { path: GAP, value: x.values[column]! },
        { path: DRY, value: y.values[row]! },
      ]);
      // As for members: the bound of drag away and back.
      expect(Math.abs(payloads[row * 3 + column]! - solvePayload(compileStudy(own)).payload_kg)).toBeLessThan(
        0.01,
      );
    }
    // A kilogram of stage is a kilogram of payload, at every gap.
    expect(payloads[0]! - payloads[15]!).toBeCloseTo(5000, 1);
  });

  it('refuses the same number twice', () => {
    expect(() => planMap(study('heavy'), x, x)).toThrow('received the same number twice');
  });
});

describe('fits and read-off', () => {
  const xs = [0, 5, 10, 15, 20];

  it('find the laws that the points were made from', () => {
    const [line, parabola] = fitCurve(
      xs,
      xs.map((x) => 3 - 2 * x + 0.25 * x * x),
    );
    expect(parabola!.coefficients.map((c) => Math.round(c * 1e9) / 1e9)).toEqual([3, -2, 0.25]);
    expect(parabola!.rms).toBeLessThan(1e-12);
    expect(line!.rms).toBeGreaterThan(1);
    const exponential = fitCurve(
      xs,
      xs.map((x) => 700 * Math.exp(-0.03 * x)),
    )[2]!;
    expect(exponential.coefficients[0]).toBeCloseTo(700, 9);
    expect(exponential.coefficients[1]).toBeCloseTo(-0.03, 12);
    expect(fitCurve([1], [1])[0]!.rms).toBeNaN();
    expect(
      fitCurve(
        xs,
        xs.map((x) => x - 1),
      )[2]!.rms,
    ).toBeNaN();
  });

  it('call a bend real only where it is more than the solver and the spread leave open', () => {
    const ys = xs.map((x) => 100 - x + 0.01 * x * x);
    const { height, verdict } = bendOf(xs, ys, 0.01);
    // Below the chord by 0.01 · 10².
    expect(height).toBeCloseTo(-1, 9);
    expect(verdict).toBe('real');
    expect(bendOf(xs, ys, 2).verdict).toBe('withinSolver');
    expect(bendOf(xs, ys, 0.01, { p5: -2, p95: 0.5 }).verdict).toBe('withinSpread');
    expect(bendOf(xs, ys, 0.01, { p5: -2, p95: -0.5 }).verdict).toBe('real');
    expect(bendOf([0, 1], [0, 1], 0.01).verdict).toBe('unknown');
  });

  it('weigh ordinates to the bend of the parabola through them, for any member alike', () => {
    const weights = bendWeights(xs);
    const members = [
      xs.map((x) => 100 - x + 0.01 * x * x),
      xs.map((x) => 3 * x - 0.2 * x * x),
      xs.map((x) => Math.exp(-0.1 * x)),
    ];
    for (const ys of members) {
      const sum = weights.reduce((all, w, i) => all + w * ys[i]!, 0);
      // Both are the same linear algebra, to rounding.
      expect(sum).toBeCloseTo(bendOf(xs, ys, 1e-9).height, 9);
    }
    // A straight line has none, whatever its slope: weights and weighted places add up to zero.
    expect(weights.reduce((all, w) => all + w, 0)).toBeCloseTo(0, 12);
    expect(weights.reduce((all, w, i) => all + w * xs[i]!, 0)).toBeCloseTo(0, 10);
    expect(bendWeights([0, 10, 10])).toEqual([]);
  });

  it('read both ways, with the band, and nothing beyond the ends', () => {
    const curve = {
      x: xs,
      y: xs.map((x) => 2 * x),
      low: xs.map((x) => 1.5 * x),
      high: xs.map((x) => 2.5 * x),
    };
    const place = readPlace(curve, 20);
    // Lines are kept exactly by the cubics.
    expect(place.value).toBeCloseTo(10, 9);
    expect(place.low).toBeCloseTo(8, 9);
    expect(place.high).toBeCloseTo(40 / 3, 9);
    expect(readValue(curve, 12.5).value).toBeCloseTo(25, 9);
    expect(readValue(curve, 20).value).toBe(40);
    // In the end intervals too, which have no neighbour on one side.
    expect(readPlace(curve, 1).value).toBeCloseTo(0.5, 9);
    expect(readPlace(curve, 39).value).toBeCloseTo(19.5, 9);
    expect(readValue({ x: [0, 10], y: [5, 25] }, 3).value).toBeCloseTo(11, 9);
    // A parabola to third order in the spacing: an eighth of a step from the end, 1e-2 of what it bends over an interval.
    const bent = { x: xs, y: xs.map((x) => x + 0.01 * x * x) };
    const [first, second] = [xs[0]!, xs[1]!];
    const at = first + 0.125 * (second - first);
    expect(Math.abs(readValue(bent, at).value - at - 0.01 * at * at)).toBeLessThan(
      1e-2 * 0.01 * (second - first) ** 2,
    );
    expect(readValue(curve, 21).value).toBeNaN();
    expect(readPlace(curve, 41).value).toBeNaN();
  });

  it('put the rules of thumb beside a study that keeps them, and one that does not', () => {
    const anatomy = { payload_kg: -100, velocity_mps: 50, parts: [], worth_kgpmps: 2, closure_mps: 0 };
    expect(besideRules(anatomy, 1000, 10)).toHaveLength(RULES_OF_THUMB.length);
    expect(besideRules(anatomy, 1000, 10)[1]).toContain(
      'Here 1.00 % for a second, in agreement with the rule: a second costs 5.00 m/s and a metre per second 0.20 %',
    );
    expect(besideRules(anatomy, 4000, 10)[1]).toContain('less than the rule');
    expect(besideRules(anatomy, 500, 10)[1]).toContain('more than the rule');
  });
});
