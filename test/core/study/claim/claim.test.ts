import { describe, expect, it } from 'vitest';
import type { Claim } from '../../../../core/contract/claims.ts';
import { validateStudy } from '../../../../core/contract/load.ts';
import type { Study } from '../../../../core/contract/study.ts';
import { judgeClaim, type ClaimVerdict } from '../../../../core/study/claim/judge.ts';
import { findClaim, planClaim } from '../../../../core/study/claim/plan.ts';
import { gapPath } from '../../../../core/study/numbers.ts';
import { headerOf } from '../../../../core/study/spread/header.ts';
import { MemberSolver } from '../../../../core/study/spread/members.ts';
import { summarise } from '../../../../core/study/spread/summary.ts';
import { SpreadTally } from '../../../../core/study/spread/tally.ts';
import { study } from '../../../assets/demos.ts';

const GAP = gapPath('ignition');
const RING = 'vehicle.bodies.booster.fittings.ring.mass_kg';

function judge(claim: Claim, members = 24, own: Study = study('heavy')): ClaimVerdict {
  const plan = planClaim(own, claim);
  const tally = new SpreadTally(headerOf(plan.spread));
  tally.add(new MemberSolver(plan.spread).solve(0, members)!);
  return judgeClaim(plan, summarise(tally));
}

const demo = findClaim(study('heavy'));
const bare: Claim = { ...demo, assumptions: [] };

describe('the claim of the heavy demo', () => {
  const verdict = judge(demo);

  it('is not borne out as stated, and hangs on how long the cold vehicle waits', () => {
    expect(verdict.variants[0]!.verdict).toBe('notSupported');
    expect(verdict.verdict).toBe('dependsOnAssumption');
    expect(verdict.dependsOn).toBe(
      'whether the cold vehicle waits 30 s, the longest of the mechanical gaps that are named',
    );
    expect(verdict.sentences.at(-1)).toContain('It depends on whether the cold vehicle waits 30 s');
  });

  it('reads off the gap at which ten percent are reached, within its band', () => {
    const { value, low, high } = verdict.place!;
    expect(low).toBeLessThan(value);
    expect(value).toBeLessThan(high);
    // The gain grows by some half a per cent a second from 5 % at 10 s.
    expect(value).toBeGreaterThan(15);
    expect(value).toBeLessThan(24);
  });

  it('names the rule that a variant departs from, and the shortest gap with its reason', () => {
    expect(verdict.sentences.some((each) => each.includes('departs from: ring mass'))).toBe(true);
    expect(
      verdict.sentences.some((each) =>
        each.includes('the shortest that it can achieve is 3 s: the tail-off'),
      ),
    ).toBe(true);
  });

  it('says beside the rules of thumb what a second costs and what it is worth', () => {
    expect(verdict.notes[0]).toMatch(/kg a second .*gravity \d+ %/);
    // 0.44 % a second and 3.9 m/s, as the demo's notes have it from solves of their own.
    expect(verdict.notes[1]).toMatch(
      /Here 0\.4\d % for a second, less than the rule: a second costs 3\.[89]\d m\/s/,
    );
    expect(verdict.anatomy!.parts.reduce((sum, part) => sum + part.share, 0)).toBeCloseTo(1, 12);
    // The ledger's own closure, twice: 1e-6 m/s a flight is asked for.
    expect(Math.abs(verdict.anatomy!.closure_mps)).toBeLessThan(1e-4);
  });
});

describe('verdicts', () => {
  it('never hold overlap against a gap that the baseline cannot achieve without saying so', () => {
    const verdict = judge({ ...bare, baseline: { ...bare.baseline, set: { [GAP]: 0 } } });
    expect(
      verdict.sentences.some((each) =>
        each.includes('a gap of 0 s, which the baseline cannot achieve: its shortest is 3 s'),
      ),
    ).toBe(true);
    expect(verdict.variants.map((each) => each.variant.id)).toEqual(['claim', 'unachievable']);
    // What is judged is the comparison with 3 s, in which the overlap gains.
    expect(verdict.variants[0]!.gain.nominal).toBeGreaterThan(verdict.variants[1]!.gain.nominal + 0.005);
  });

  it('follow the band: supported below it, not supported above it, in between hanging on a number', () => {
    const at = (statedGain: number): ClaimVerdict =>
      judge({ ...bare, statedGain, baseline: { ...bare.baseline, leastGap_s: 10 } });
    const { gain } = at(0.01).variants[0]!;
    expect(at(0.9 * gain.p5).verdict).toBe('supported');
    expect(at(1.1 * gain.p95).verdict).toBe('notSupported');
    const between = at(gain.median);
    expect(between.verdict).toBe('dependsOnAssumption');
    expect(between.dependsOn).toContain('the true value of vehicle.');
  });

  it('are not given as supported where a rule of fair comparison is broken', () => {
    const verdict = judge({
      ...bare,
      statedGain: 0.01,
      change: { ...bare.change, set: { [GAP]: -1.5, [RING]: 0 } },
    });
    expect(verdict.variants[0]!.verdict).toBe('supported');
    expect(verdict.verdict).toBe('dependsOnAssumption');
    expect(verdict.dependsOn).toContain('ring mass');
  });

  it('need enough members', () => {
    expect(judge(bare, 4).verdict).toBe('noAnswer');
  });
});

describe('a claim in the document', () => {
  const refused = (change: (claim: Record<string, unknown>) => void): string[] => {
    const document = structuredClone(study('heavy')) as unknown as { claims: Record<string, unknown>[] };
    change(document.claims[0]!);
    const result = validateStudy(document);
    return result.ok ? [] : result.problems.map((problem) => problem.sentence);
  };

  it('must name numbers that are there, and a shortest gap where it compares gaps', () => {
    expect(
      refused((claim) => (claim['change'] = { name: 'x', set: { 'vehicle.bodies.uper.dryMass_kg': 1 } }))[0],
    ).toContain('the unknown name "uper"');
    expect(refused((claim) => (claim['change'] = { name: 'x', set: { title: 1 } }))[0]).toContain(
      'the path of a number that is computed with',
    );
    expect(refused((claim) => (claim['same'] = [{ what: 'x', paths: ['vehicle.mass'] }]))[0]).toContain(
      'the unknown name "mass"',
    );
    expect(refused((claim) => (claim['baseline'] = { name: 'x', set: { [GAP]: 0 } }))[0]).toContain(
      'without leastGap_s and leastGapWhy',
    );
    expect(refused((claim) => (claim['stated'] = 1))[0]).toContain('the unknown key "stated"');
    expect(refused(() => undefined)).toEqual([]);
  });

  it('is found by its id', () => {
    expect(findClaim(study('heavy'), 'hot-staging')).toBe(demo);
    expect(() => findClaim(study('heavy'), 'x')).toThrow('claim: received "x", allowed is hot-staging');
    expect(() => findClaim(study('small'))).toThrow('claims: received none');
  });
});
