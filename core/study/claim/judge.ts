/** The verdict on a claim, with its reasoning in sentences. */
import { compileAnswer, solveAnswer } from '../../solve/answer.ts';
import { anatomyOf, type Anatomy } from '../anatomy.ts';
import { readPlace, type Curve, type Reading } from '../curve.ts';
import { withNumbers } from '../numbers.ts';
import { besideRules } from '../rulesOfThumb.ts';
import type { QuantitySummary, SpreadSummary } from '../spread/summary.ts';
import type { ClaimPlan, ClaimVariant } from './plan.ts';

/**
 * supported: 95 of 100 members gain at least what is stated. notSupported: fewer than 5 do. dependsOnAssumption: in between,
 * or another way of drawing the comparison that the claim names comes to the opposite; `dependsOn` says on what.
 * noAnswer: too few members have an answer.
 */
export type Verdict = 'supported' | 'notSupported' | 'dependsOnAssumption' | 'noAnswer';

export interface VariantFigures {
  readonly variant: ClaimVariant;
  readonly baseline_kg: number;
  readonly change_kg: number;
  /** Over the baseline's payload, dimensionless. */
  readonly gain: QuantitySummary;
  readonly difference_kg: QuantitySummary;
  readonly verdict: Verdict;
}

export interface ClaimVerdict {
  readonly verdict: Verdict;
  readonly dependsOn: string;
  /** The reasoning, in order; the last one is the verdict. */
  readonly sentences: readonly string[];
  readonly notes: readonly string[];
  readonly variants: readonly VariantFigures[];
  /** The gain against the baseline's gap (s), with its 5 to 95 % band; null where the baseline sets no gap. */
  readonly curve: Curve | null;
  /** The gap of the baseline (s) at which the stated gain is reached. */
  readonly place: Reading | null;
  /** What becomes of the baseline between its shortest gap and ten seconds more. */
  readonly anatomy: Anatomy | null;
}

/** Fewer members than this give no band. */
const LEAST_MEMBERS = 20;
/** The gap by which the anatomy is taken, s. */
const WAIT_s = 10;

/** Judges a claim from the members of its spread. Gains dimensionless, masses in kg, gaps in s. */
export function judgeClaim(plan: ClaimPlan, summary: SpreadSummary): ClaimVerdict {
  const { claim, spread } = plan;
  const quantity = (key: string): QuantitySummary => summary.quantities.find((each) => each.key === key)!;
  const enough = summary.solved >= LEAST_MEMBERS;
  const variants = plan.variants.map((variant, i): VariantFigures => {
    const gain = quantity(`variantGain.${i}`);
    return {
      variant,
      baseline_kg: spread.cases[variant.baseline]!.payload_kg,
      change_kg: spread.cases[variant.change]!.payload_kg,
      gain,
      difference_kg: quantity(`variantDifference_kg.${i}`),
      verdict: !enough ? 'noAnswer' : judged(gain, claim.statedGain),
    };
  });
  const own = variants[0]!;
  const curve = curveOf(plan, quantity);
  const place = curve === null ? null : readPlace(curve, claim.statedGain);
  const anatomy = anatomyOfWait(plan);
  // Against what cannot be achieved nothing is decided.
  const others = variants.slice(1).filter((each) => each.variant.id !== 'unachievable');
  const opposite = others.filter((each) => each.verdict !== own.verdict);
  let { verdict } = own;
  let dependsOn = '';
  if (verdict === 'dependsOnAssumption') dependsOn = `the true value of ${largest(plan, own.gain)}`;
  else if (verdict !== 'noAnswer' && own.variant.breaks.length > 0) {
    verdict = 'dependsOnAssumption';
    dependsOn = `whether it is fair that ${own.variant.breaks.join(' and ')} differ between the two`;
  } else if (verdict !== 'noAnswer' && opposite.length > 0) {
    verdict = 'dependsOnAssumption';
    dependsOn = opposite.map((each) => `whether ${each.variant.words}`).join('; and ');
  }
  const parts = { plan, summary, variants, place, own };
  return {
    verdict,
    dependsOn,
    sentences: [...reasons(parts), conclusion(parts, verdict, dependsOn)],
    notes: notesOf(plan, anatomy),
    variants,
    curve,
    place,
    anatomy,
  };
}

function judged(gain: QuantitySummary, stated: number): Verdict {
  if (gain.p5 >= stated) return 'supported';
  return gain.p95 < stated ? 'notSupported' : 'dependsOnAssumption';
}

function curveOf({ ladder }: ClaimPlan, quantity: (key: string) => QuantitySummary): Curve | null {
  if (ladder.length === 0) return null;
  const gains = ladder.map((_, i) => quantity(`ladderGain.${i}`));
  return {
    x: ladder.map((step) => step.gap_s),
    y: gains.map((gain) => gain.median),
    low: gains.map((gain) => gain.p5),
    high: gains.map((gain) => gain.p95),
  };
}

/** The baseline at its shortest gap and ten seconds later, solved without spread. */
function anatomyOfWait({ ladder, spread, gapPath }: ClaimPlan): Anatomy | null {
  const first = ladder[0];
  if (first === undefined) return null;
  const { changes, start } = spread.cases[first.baseline]!;
  const at = (gap_s: number): Parameters<typeof anatomyOf>[0] => {
    const own = withNumbers(spread.study, [...changes, { path: gapPath, value: gap_s }]);
    return solveAnswer(compileAnswer(own), { memory: start });
  };
  const [short, long] = [at(first.gap_s), at(first.gap_s + WAIT_s)];
  return short.outcome.status === 'converged' && long.outcome.status === 'converged'
    ? anatomyOf(short, long)
    : null;
}

function notesOf({ ladder, spread }: ClaimPlan, anatomy: Anatomy | null): string[] {
  if (anatomy === null) return [];
  const from = ladder[0]!;
  const parts = [...anatomy.parts]
    .filter((part) => Math.abs(part.share) > 0.005)
    .sort((p, q) => Math.abs(q.share) - Math.abs(p.share))
    .map((part) => `${part.name} ${(100 * part.share).toFixed(0)} % (${part.payload_kg.toFixed(0)} kg)`);
  const { payload_kg } = spread.cases[from.baseline]!;
  return [
    `Ten seconds more than ${from.gap_s} s of gap cost the baseline ${(-anatomy.payload_kg).toFixed(0)} kg, ${(-anatomy.payload_kg / WAIT_s).toFixed(1)} kg a second ` +
      `(${((-10 * anatomy.payload_kg) / payload_kg).toFixed(2)} % of its payload a second; the percentage is large where the payload is small, the kilograms are not): ${parts.join(', ')}.`,
    ...besideRules(anatomy, payload_kg, WAIT_s),
  ];
}

interface Parts {
  readonly plan: ClaimPlan;
  readonly summary: SpreadSummary;
  readonly variants: readonly VariantFigures[];
  readonly place: Reading | null;
  readonly own: VariantFigures;
}

const percent = (share: number): string => (100 * share).toFixed(1).replace('-', '−');
const kg = (mass: number): string => mass.toFixed(0).replace('-', '−');

function reasons({ plan, summary, variants, place, own }: Parts): string[] {
  const { claim, spread } = plan;
  const [base, changed] = [spread.cases[own.variant.baseline]!, spread.cases[own.variant.change]!];
  const sentences = [
    `Claim: “${claim.statement}”, that is at least ${percent(claim.statedGain)} % more payload.`,
    `Without spread ${changed.name} carries ${kg(own.change_kg)} kg and ${base.name} ${kg(own.baseline_kg)} kg: ${kg(own.change_kg - own.baseline_kg)} kg or ${percent(own.gain.nominal)} %.`,
    `With ${spread.inputs.length} uncertain numbers varying together, the same in both, the gain is ${kg(own.difference_kg.p5)} to ${kg(own.difference_kg.p95)} kg (5 to 95 %), ` +
      `${percent(own.gain.p5)} to ${percent(own.gain.p95)} % with a median of ${percent(own.gain.median)} %; ${summary.solved} of ${summary.members} members have an answer in every case.`,
  ];
  const { leastGap_s, leastGapWhy = '' } = claim.baseline;
  if (leastGap_s !== undefined && plan.gapPath !== '') {
    sentences.push(
      plan.claimedGap_s < leastGap_s
        ? `The claim is held against a gap of ${plan.claimedGap_s} s, which the baseline cannot achieve: its shortest is ${leastGap_s} s (${leastGapWhy}). The comparison is made against that instead.`
        : `The baseline's gap is ${plan.claimedGap_s} s; the shortest that it can achieve is ${leastGap_s} s: ${leastGapWhy}`,
    );
  }
  const kept = claim.same.filter(({ what }) => !own.variant.breaks.includes(what)).map(({ what }) => what);
  if (kept.length > 0) sentences.push(`The same in both: ${kept.join(', ')}.`);
  for (const what of own.variant.breaks)
    sentences.push(`Not the same in both, though the claim's rules ask for it: ${what}.`);
  for (const each of variants.slice(1)) {
    const breaks = each.variant.breaks.length > 0 ? ` (departs from: ${each.variant.breaks.join(', ')})` : '';
    sentences.push(
      `If ${each.variant.words}: ${percent(each.gain.p5)} to ${percent(each.gain.p95)} %, ${kg(each.difference_kg.p5)} to ${kg(each.difference_kg.p95)} kg${breaks}; ${WORDS[each.verdict]}.`,
    );
  }
  if (place !== null) {
    const { x } = curveEnds(plan);
    sentences.push(
      Number.isNaN(place.value)
        ? `At no gap of the baseline from ${x[0]} to ${x[1]} s is the change worth ${percent(claim.statedGain)} %.`
        : `The change is worth ${percent(claim.statedGain)} % against a gap of ${place.value.toFixed(1)} s (${ends(place)}).`,
    );
  }
  sentences.push(`The scatter of the gain comes most from ${largest(plan, own.gain)}.`);
  return sentences;
}

function ends({ low, high }: Reading): string {
  const end = (value: number): string =>
    Number.isNaN(value) ? 'beyond the gaps solved' : `${value.toFixed(1)} s`;
  return `5 to 95 %: ${end(low)} to ${end(high)}`;
}

function curveEnds({ ladder }: ClaimPlan): { x: [number, number] } {
  return { x: [ladder[0]!.gap_s, ladder[ladder.length - 1]!.gap_s] };
}

/** The input that explains most of a quantity's variance. */
function largest({ spread }: ClaimPlan, gain: QuantitySummary): string {
  const shares = gain.linearShares;
  const at = shares.indexOf(Math.max(...shares));
  return `${spread.inputs[at]?.path ?? 'none'} (${percent(shares[at] ?? 0)} % of the variance)`;
}

const WORDS: Record<Verdict, string> = {
  supported: 'the claim would be supported',
  notSupported: 'the claim would not be supported',
  dependsOnAssumption: 'the claim could be true or not',
  noAnswer: 'too few members have an answer',
};

function conclusion({ plan, own }: Parts, verdict: Verdict, dependsOn: string): string {
  const stated = `${percent(plan.claim.statedGain)} %`;
  const band = `${percent(own.gain.p5)} to ${percent(own.gain.p95)} %`;
  switch (verdict) {
    case 'supported':
      return `Supported: the band of the gain, ${band}, lies at or above ${stated}.`;
    case 'notSupported':
      return `Not supported: the band of the gain, ${band}, lies below ${stated}.`;
    case 'dependsOnAssumption':
      return `It depends on ${dependsOn}: as stated the gain is ${band} against ${stated} claimed.`;
    case 'noAnswer':
      return 'No verdict: too few members have an answer; see why they have none, or ask for more members.';
  }
}
