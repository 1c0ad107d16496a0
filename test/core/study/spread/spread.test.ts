import { describe, expect, it } from 'vitest';
import type { JsonValue } from '../../../../core/contract/json.ts';
import { compileStudy } from '../../../../core/flight/compile.ts';
import { solvePayload } from '../../../../core/solve/payload.ts';
import { withNumbers, gapPath } from '../../../../core/study/numbers.ts';
import { headerOf } from '../../../../core/study/spread/header.ts';
import { MemberSolver, type MemberBatch } from '../../../../core/study/spread/members.ts';
import {
  mergeParts,
  partOf,
  readPart,
  tallyOf,
  type SpreadPart,
} from '../../../../core/study/spread/part.ts';
import { planSpread, planSpreadSteps, type SpreadPlan } from '../../../../core/study/spread/plan.ts';
import { missingRuns, spreadSteps } from '../../../../core/study/spread/run.ts';
import { summarise } from '../../../../core/study/spread/summary.ts';
import { SpreadTally } from '../../../../core/study/spread/tally.ts';
import { study } from '../../../assets/demos.ts';

const GAP = gapPath('ignition');
const CASES = [
  { name: 'cold', changes: [{ path: GAP, value: 10 }] },
  { name: 'hot', changes: [{ path: GAP, value: -1.5 }] },
];
const plan = planSpread(study('heavy'), { cases: CASES, seed: 3 });
const solver = new MemberSolver(plan);
const N = 12;
const one = Array.from({ length: N }, (_, member) => solver.solve(member, member + 1)!);

const fresh = (): SpreadTally => new SpreadTally(headerOf(plan));
function sliced(batches: readonly MemberBatch[]): SpreadPart {
  const tally = fresh();
  for (const batch of batches) tally.add(batch);
  // Through text, as a file would go.
  return readPart(JSON.parse(JSON.stringify(partOf(tally))) as JsonValue, 'part');
}

describe('a spread of the heavy demo', () => {
  it('gives a member the payload of a cold solve of the same numbers', () => {
    for (const member of [0, 7]) {
      const values = solver.valuesOf(member);
      const own = withNumbers(
        study('heavy'),
        plan.inputs.map((input, i) => ({ path: input.path, value: values[i]! })),
      );
      CASES.forEach(({ changes }, c) => {
        const cold = solvePayload(compileStudy(withNumbers(own, changes)));
        // Both are judged by the same conditions, good to grams: the bound of 0.01 kg is that of drag away and back.
        expect(Math.abs(cold.payload_kg - one[member]!.payloads_kg[c]!)).toBeLessThan(0.01);
      });
    }
  });

  it('does not depend on what was solved before, to the bit', () => {
    const again = new MemberSolver(structuredClone(plan));
    expect(again.solve(7, 9)!.payloads_kg).toEqual(
      Float64Array.from([...one[7]!.payloads_kg, ...one[8]!.payloads_kg]),
    );
  });

  it('merges slices to the bytes of the whole, however cut and in whatever order', () => {
    const whole = JSON.stringify(sliced(one));
    const cuts = [
      [one.slice(0, 5), one.slice(5)],
      [one.slice(9), one.slice(0, 1), one.slice(1, 9)],
      one.map((batch) => [batch]).reverse(),
    ];
    for (const cut of cuts) expect(JSON.stringify(mergeParts(cut.map(sliced)))).toBe(whole);
    const steps = spreadSteps(plan, { from: 0, to: 3 });
    let step = steps.next();
    while (step.done !== true) step = steps.next();
    expect(JSON.stringify(mergeParts([partOf(step.value), sliced(one.slice(3))]))).toBe(whole);
  });

  it('goes on from what was kept, solves nothing twice, and comes to the bytes of the whole', () => {
    const kept = sliced([...one.slice(0, 3), ...one.slice(5, 8)]);
    expect(missingRuns(tallyOf(kept), 0, N)).toEqual([
      [3, 5],
      [8, N],
    ]);
    expect(missingRuns(tallyOf(kept), 1, 3)).toEqual([]);
    expect(missingRuns(fresh(), 2, 4)).toEqual([[2, 4]]);
    const steps = spreadSteps(plan, { from: 0, to: N, tally: tallyOf(kept) });
    const told: number[] = [];
    let step = steps.next();
    while (step.done !== true) {
      told.push(step.value.done);
      step = steps.next();
    }
    expect(told).toEqual([7, 8, 9, 10, 11, 12]);
    expect(JSON.stringify(partOf(step.value))).toBe(JSON.stringify(sliced(one)));
  });

  it('is planned in steps, a solve each, and not again when its plan is known', () => {
    const told: number[] = [];
    let solves = 0;
    const steps = planSpreadSteps(study('heavy'), { cases: CASES, seed: 3 });
    let step = steps.next();
    for (; step.done !== true; step = steps.next()) {
      told.push(step.value.done);
      solves = step.value.of;
    }
    expect(solves).toBe(2 * (1 + plan.inputs.length));
    expect(told).toEqual(Array.from({ length: solves }, (_, i) => i + 1));
    expect(step.value.identity).toBe(plan.identity);
    expect(step.value.cases[1]!.slopes).toEqual(plan.cases[1]!.slopes);
    const known = (identity: string): SpreadPlan | undefined =>
      identity === plan.identity ? plan : undefined;
    expect(planSpreadSteps(study('heavy'), { cases: CASES, seed: 3, known }).next().value).toBe(plan);
    expect(planSpreadSteps(study('heavy'), { cases: CASES, seed: 4, known }).next().done).toBe(false);
  });

  it('has a band on the difference far narrower than the bands of the two payloads', () => {
    const { quantities, solved, members } = summarise(tallyOf(sliced(one)));
    expect(solved).toBe(members);
    const [cold, hot, difference, gain] = quantities;
    expect(difference!.mean).toBeCloseTo(hot!.mean - cold!.mean, 6);
    // Each member compares like with like; unpaired, the deviations would add.
    expect(difference!.deviation).toBeLessThan(0.05 * Math.hypot(cold!.deviation, hot!.deviation));
    expect(gain!.mean).toBeGreaterThan(0.04);
    expect(gain!.p5).toBeLessThan(gain!.median);
    expect(hot!.linearShares.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 12);
  });

  it('refuses to mix seeds, studies, engines and cases, and members that are there already', () => {
    const a = sliced(one.slice(0, 2));
    const with_ = (change: object): SpreadPart => ({
      ...sliced(one.slice(2, 4)),
      header: { ...a.header, ...change },
    });
    expect(() => mergeParts([a, with_({ seed: 4 })])).toThrow(
      'Part 2 does not belong with part 1: it has the seed 4, not 3.',
    );
    expect(() => mergeParts([a, with_({ inputsHash: 'f' })])).toThrow('another study');
    expect(() => mergeParts([a, with_({ engine: '0' })])).toThrow('other elementary functions');
    expect(() => mergeParts([a, with_({ cases: [] })])).toThrow('other cases');
    expect(() => mergeParts([a, sliced(one.slice(1, 3))])).toThrow('members 1 to 1 are there already');
    expect(() => readPart({ plumelineSpread: 1 }, 'x.json')).toThrow('x.json: header is missing');
    expect(() => readPart([], 'x.json')).toThrow('x.json: plumelineSpread');
  });

  it('keeps members without an answer, with the reason, and counts none of them as solved', () => {
    const heavy = structuredClone(study('heavy'));
    // So wide that some members have less thrust than weight, and some a thrust that no study may have.
    heavy.provenance = {
      'vehicle.bodies.upper.dryMass_kg': {
        source: 'test',
        spread: { shape: 'normal', low: 0, high: 95_600 },
      },
    };
    const wide = planSpread(heavy, { seed: 1 });
    const batch = new MemberSolver(wide).solve(0, 16)!;
    const tally = new SpreadTally(headerOf(wide));
    tally.add(batch);
    const summary = summarise(tally);
    const failed = [...batch.payloads_kg].filter(Number.isNaN).length;
    expect(failed).toBeGreaterThan(2);
    expect(summary.solved).toBe(16 - failed);
    expect(summary.failures).toHaveLength(failed);
    expect(Object.keys(summary.failureCounts).sort()).toEqual(['cannotReachOrbit', 'notAllowed']);
    for (const { message } of summary.failures) expect(message).toMatch(/\.$/);
  });

  it('takes the variance apart by input, where draws that differ in one number are solved too', () => {
    const few = structuredClone(study('heavy'));
    few.provenance = Object.fromEntries(
      ['vehicle.bodies.upper.dryMass_kg', 'vehicle.bodies.booster.propellant.residual_kg'].map((path) => [
        path,
        few.provenance[path]!,
      ]),
    );
    const own = planSpread(few, { indices: true, seed: 5 });
    const tally = new SpreadTally(headerOf(own));
    tally.add(new MemberSolver(own).solve(0, 24)!);
    const summary = summarise(tally);
    expect(summary.solves).toBe(24 * (2 + 2));
    const { indices, linearShares } = summary.quantities[0]!;
    // A nearly linear answer: the indices are the shares of the slopes; 24 members know them to a few per cent.
    indices!.total.forEach((share, i) => expect(Math.abs(share - linearShares[i]!)).toBeLessThan(0.1));
    expect(linearShares[0]).toBeGreaterThan(0.9);
  });
});
