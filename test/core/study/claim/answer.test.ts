import { describe, expect, it } from 'vitest';
import { bothWays, claimAnswer } from '../../../../core/study/claim/answer.ts';
import type { ClaimVerdict, Verdict } from '../../../../core/study/claim/judge.ts';
import { findClaim } from '../../../../core/study/claim/plan.ts';
import { flownStudy, gapPath } from '../../../../core/study/numbers.ts';
import { readPlace } from '../../../../core/study/curve.ts';
import { study } from '../../../assets/demos.ts';

const claim = findClaim(study('heavy'));

/** A gain of half a per cent a second, its band a tenth of it to either side: read off by hand. */
function verdict(of: Verdict, own: Verdict = of): ClaimVerdict {
  const x = [0, 5, 10, 20, 30];
  const curve = {
    x,
    y: x.map((gap_s) => 0.005 * gap_s),
    low: x.map((gap_s) => 0.0045 * gap_s),
    high: x.map((gap_s) => 0.0055 * gap_s),
  };
  return {
    verdict: of,
    dependsOn: '',
    sentences: ['too few members'],
    notes: [],
    variants: [
      {
        verdict: own,
        gain: { median: 0.05, p5: 0.045, p95: 0.055 },
      } as unknown as ClaimVerdict['variants'][number],
    ],
    curve,
    place: readPlace(curve, claim.statedGain),
    anatomy: null,
  };
}

describe('a judged claim in one breath', () => {
  it('reads the gain at the gap and the gap at the gain, each with its band', () => {
    const ways = bothWays(claim, verdict('notSupported'))!;
    expect(ways.gap_s).toBe(10);
    // Monotone cubics through points of a line are that line.
    expect(ways.gain.value).toBeCloseTo(0.05, 12);
    expect(ways.gain.low).toBeCloseTo(0.045, 12);
    expect(ways.place.value).toBeCloseTo(20, 6);
    expect(ways.place.low).toBeCloseTo(0.1 / 0.0055, 6);
    expect(ways.place.high).toBeCloseTo(0.1 / 0.0045, 6);
  });

  it('reads at the shortest gap that the baseline can achieve, not at a shorter one', () => {
    const short = { ...claim, baseline: { ...claim.baseline, set: { [gapPath('ignition')]: 0 } } };
    expect(bothWays(short, verdict('notSupported'))!.gap_s).toBe(3);
    expect(bothWays({ ...claim, baseline: { name: 'x', set: {} } }, verdict('supported'))).toBeNull();
  });

  it.each([
    ['supported', 'supported', 'Supported: against 10 s it is 5.0 % (4.5 to 5.5 %).'],
    ['notSupported', 'notSupported', 'Not supported: against 10 s'],
    ['dependsOnAssumption', 'notSupported', 'Not as stated: against 10 s'],
    ['dependsOnAssumption', 'supported', 'Only under an assumption: against 10 s'],
    ['dependsOnAssumption', 'dependsOnAssumption', 'Open: against 10 s'],
  ] as const)('says %s, as stated %s', (of, own, words) => {
    expect(claimAnswer(claim, verdict(of, own))).toContain(words);
    expect(claimAnswer(claim, verdict(of, own))).toContain(
      '10 % would need a gap of 20.0 s (18.2 to 22.2 s).',
    );
  });

  it('says why where there is no answer, and that a gain is nowhere reached', () => {
    expect(claimAnswer(claim, verdict('noAnswer'))).toBe('too few members');
    const never = { ...verdict('notSupported'), place: { value: NaN, low: NaN, high: NaN } };
    expect(claimAnswer(claim, never)).toContain('10 % are reached at none of the gaps solved.');
  });
});

describe('what answers depend on', () => {
  it('is the same whatever is claimed, told and noted, and another one for another number or spread', () => {
    const own = study('heavy');
    const text = (change: (draft: typeof own) => void): string => {
      const draft = structuredClone(own);
      change(draft);
      return JSON.stringify(flownStudy(draft));
    };
    const path = 'vehicle.bodies.upper.dryMass_kg';
    const before = JSON.stringify(flownStudy(own));
    expect(text((draft) => (draft.claims![0]!.statedGain = 0.2))).toBe(before);
    expect(text((draft) => (draft.notes = 'other'))).toBe(before);
    expect(text((draft) => (draft.provenance[path]!.source = 'weighed'))).toBe(before);
    expect(text((draft) => (draft.provenance[path]!.spread!.low -= 1))).not.toBe(before);
    expect(text((draft) => (draft.vehicle.bodies['upper']!.dryMass_kg += 1))).not.toBe(before);
  });
});
