import { describe, expect, it, vi } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { loadStudy, saveStudy } from '../../../core/contract/load.ts';
import { compileAnswer, solveAnswer } from '../../../core/solve/answer.ts';
import { breakEven } from '../../../core/study/breakEven.ts';
import { coupledSteps } from '../../../core/study/coupled.ts';
import { gapDerivative_kgps } from '../../../core/study/envelope.ts';
import { withGap } from '../../../core/study/gap.ts';
import { ownWay } from '../../../core/study/modes.ts';
import { withNumbers } from '../../../core/study/numbers.ts';
import { numberSweepSteps, planMap, solveBand } from '../../../core/study/numberSweep.ts';
import { rateSteps } from '../../../core/study/rates.ts';
import { withChosen, withReserveRule } from '../../../core/study/returnChoice.ts';
import { MemberSolver } from '../../../core/study/spread/members.ts';
import { planSpread } from '../../../core/study/spread/plan.ts';
import { finish } from '../../../core/study/steps.ts';
import { sweepGap } from '../../../core/study/sweep.ts';
import { sweepCsv } from '../../../core/study/sweepCsv.ts';
import { study as demo } from '../../assets/demos.ts';

// Dozens of ascents with their returns.
vi.setConfig({ testTimeout: 120_000 });

/** Both stop within the same tolerances, good to some grams each, kg. */
const SAME_kg = 0.05;
const MARGIN = 'returns.plans.to-site.reserve.margin';

const heavy = demo('heavy');
/** The heavy demo with the return whose reserve is what it takes. */
const taken = withChosen(heavy, 'to-site', true);
const payload_kg = (study: Study): number => solveAnswer(compileAnswer(study)).outcome.payload_kg;

describe('the choice of a return', () => {
  it('takes the place of another of the same body, and can be left out', () => {
    expect(taken.returns!.chosen).toEqual(['to-site']);
    expect(withChosen(taken, 'to-site', false).returns!.chosen).toEqual([]);
    expect(heavy.returns!.chosen).toEqual(['downrange']);
  });

  it('makes a study that loads as it is saved, also where its margin is gone', () => {
    const given = withReserveRule(taken, 'to-site', { kind: 'given' });
    expect(heavy.provenance[MARGIN]).toBeDefined();
    expect(given.provenance[MARGIN]).toBeUndefined();
    for (const study of [taken, given]) {
      const loaded = loadStudy(saveStudy(study));
      if (!loaded.ok) throw new Error(loaded.problems.map(({ sentence }) => sentence).join('\n'));
      expect(loaded.study).toEqual(study);
    }
    const back = withReserveRule(given, 'to-site', { kind: 'taken', margin: 0.03 });
    expect(back.returns).toEqual(taken.returns);
  });
});

describe('a study that is answered with its return', () => {
  it('has the curve that is asked for with the return by name, and keeps the reserve where steering is kept', () => {
    const gaps_s = [2, -1, 0];
    const sweep = sweepGap(taken, { gaps_s, modes: ['reoptimised', 'held', 'fixed'], reference_s: 0 });
    const named = finish(coupledSteps(heavy, 'to-site', { gaps_s, reference_s: 0 }));
    for (const point of sweep.points) expect(point.outcome.status).toBe('converged');
    const own = sweep.points.filter(({ mode }) => mode === 'reoptimised');
    own.forEach((point, i) => {
      const other = named.points[i]!.outcome;
      expect(Math.abs(point.payload_kg - other.payload_kg)).toBeLessThan(SAME_kg);
      // The reserve moves by the price of a gram: flat about the best.
      expect(Math.abs(point.coupled!.reserve_kg - other.reserve_kg)).toBeLessThan(20);
      expect(point.coupled!.reserve_kg / point.coupled!.used_kg).toBeCloseTo(1.03, 6);
    });
    const kept = sweep.points.filter(({ mode }) => mode !== 'reoptimised');
    for (const { coupled, gap_s, payload_kg: carried } of kept) {
      expect(coupled).toBeNull();
      if (gap_s === 0) expect(Math.abs(carried - sweep.reference.outcome.payload_kg)).toBeLessThan(SAME_kg);
    }
    expect(sweepCsv(sweep, 'c', 'h').split('\n')[2]).toMatch(
      /,reason,returnTakes_kg,reserve_kg,payloadPerReserveKilogram$/,
    );
  });

  it('has the worth of a second that solving again has', () => {
    for (const gap_s of [-1.5, 5]) {
      const study = withGap(taken, 'ignition', gap_s);
      const { outcome } = solveAnswer(compileAnswer(study));
      const slope = gapDerivative_kgps(study, 'ignition', outcome);
      const by_s = 0.2;
      const [more, less] = [by_s, -by_s].map((by) => payload_kg(withGap(taken, 'ignition', gap_s + by)));
      // Grams of either solve over 0.4 s, and the curvature over it.
      expect(Math.abs(slope - (more! - less!) / (2 * by_s))).toBeLessThan(0.3);
    }
  });

  it('has the rates that solving again has, none for what the solve keeps', () => {
    const paths = [
      'vehicle.bodies.booster.dryMass_kg',
      'vehicle.bodies.booster.engineGroups.main.ispVacuum_s',
      'vehicle.bodies.upper.dryMass_kg',
      MARGIN,
      'vehicle.bodies.booster.propellant.returnReserve_kg',
    ];
    const { rates, without } = finish(rateSteps(taken, { only: paths, verify: true }));
    expect(rates.map(({ path }) => path).sort()).toEqual([...paths.slice(0, 4)].sort());
    expect(without.map(({ path }) => path)).toEqual([paths[4]]);
    for (const { path, method, perUnit_kg, verified_kg } of rates) {
      expect(method).toBe('multipliers');
      // Grams of a solve over a thousandth of the number.
      expect(Math.abs(perUnit_kg / verified_kg! - 1), path).toBeLessThan(path === MARGIN ? 0.1 : 0.005);
    }
  });

  it('finds what makes up for a change, with the return solved at each step', () => {
    const change = { path: 'vehicle.bodies.booster.dryMass_kg', value: 107_500 };
    const against = 'vehicle.bodies.upper.dryMass_kg';
    const found = breakEven(taken, { change, against });
    expect(found.status).toBe('solved');
    const both = withNumbers(taken, [change, { path: against, value: found.value }]);
    expect(Math.abs(payload_kg(both) - found.payload_kg)).toBeLessThan(SAME_kg);
  });

  it('sweeps and maps numbers, those of its return among them', () => {
    const values = [0, 0.03, 0.06];
    const line = finish(numberSweepSteps(taken, { path: MARGIN, values }));
    const carried = line.points.map((point) => point.payload_kg);
    expect(carried[0]).toBeGreaterThan(carried[1]! + 500);
    expect(carried[1]).toBeGreaterThan(carried[2]! + 500);
    const upper = { path: 'vehicle.bodies.upper.dryMass_kg', values: [46_000, 47_000] };
    const [task] = planMap(taken, { path: MARGIN, values: [0, 0.06] }, upper);
    const { payloads_kg, reasons } = solveBand(task!);
    expect(reasons).toEqual([]);
    const corner = withNumbers(taken, [
      { path: MARGIN, value: 0.06 },
      { path: upper.path, value: 47_000 },
    ]);
    expect(Math.abs(payloads_kg[3]! - payload_kg(corner))).toBeLessThan(SAME_kg);
  });

  it('has members of a spread that are what a cold solve of their numbers is', () => {
    const few = ['vehicle.bodies.booster.dryMass_kg', 'vehicle.bodies.upper.dryMass_kg'];
    const spread = (path: string, by: number) => {
      const value = path.includes('booster') ? 106_500 : heavy.vehicle.bodies['upper']!.dryMass_kg;
      return [
        path,
        { source: 'test', spread: { shape: 'uniform', low: value - by, high: value + by } },
      ] as const;
    };
    const study = {
      ...taken,
      provenance: Object.fromEntries([spread(few[0]!, 3000), spread(few[1]!, 1500)]),
    } as Study;
    const plan = planSpread(study);
    const solver = new MemberSolver(plan);
    const { payloads_kg, failures } = solver.solve(3, 5)!;
    expect(failures).toEqual([]);
    [3, 4].forEach((member, i) => {
      const numbers = solver.valuesOf(member).map((value, k) => ({ path: plan.inputs[k]!.path, value }));
      expect(Math.abs(payloads_kg[i]! - payload_kg(withNumbers(study, numbers)))).toBeLessThan(SAME_kg);
    });
  });

  it('has its own staging as a way of staging, with what it keeps', () => {
    const row = ownWay(taken)!;
    const answer = solveAnswer(compileAnswer(taken));
    expect(row.coupled!.plan).toBe('to-site');
    expect(row.coupled!.reserve_kg).toBeCloseTo(
      row.flown!.compiled.study.vehicle.bodies['booster']!.propellant!.returnReserve_kg,
      6,
    );
    expect(Math.abs(row.payload_kg - answer.outcome.payload_kg)).toBeLessThan(SAME_kg);
  });
});
