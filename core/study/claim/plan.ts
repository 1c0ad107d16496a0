/** A claim made ready to be judged: the variants that it is looked at in, as the cases of one paired spread. */
import type { Claim } from '../../contract/claims.ts';
import { followPath } from '../../contract/places.ts';
import type { Study } from '../../contract/study.ts';
import { NumberError, numberOf, withNumbers, type NumberChange } from '../numbers.ts';
import { finish } from '../steps.ts';
import { planSpreadSteps, type SpreadCase, type SpreadPlan, type SpreadProgress } from '../spread/plan.ts';

/** One way to draw the comparison; cases by their index. */
export interface ClaimVariant {
  readonly id: string;
  readonly words: string;
  readonly baseline: number;
  readonly change: number;
  /** Names of the fair-comparison rules that it breaks. */
  readonly breaks: readonly string[];
}

/** The baseline with another gap, for reading off at which gap the stated gain would be reached. */
export interface LadderStep {
  readonly gap_s: number;
  readonly baseline: number;
}

export interface ClaimPlan {
  readonly claim: Claim;
  readonly spread: SpreadPlan;
  /** The first is what the verdict is about. */
  readonly variants: readonly ClaimVariant[];
  /** Path of the gap that the baseline sets, '' when none. */
  readonly gapPath: string;
  /** The baseline's gap as the claim has it, s; NaN when none is set. */
  readonly claimedGap_s: number;
  readonly ladder: readonly LadderStep[];
  /** Index of the change that the ladder is held against. */
  readonly change: number;
}

export interface ClaimOptions {
  readonly seed?: number;
  /** As for a spread. */
  readonly known?: (identity: string) => SpreadPlan | undefined;
  readonly stop?: () => boolean;
}

/** Gaps at which the baseline is solved for the read-off, s, as far as it can achieve them. */
const LADDER_s = [5, 10, 15, 20, 25, 30, 40];

/** The claim of a study by its id, the first when none is given. Throws NumberError where there is none. Unitless. */
export function findClaim(study: Study, id?: string): Claim {
  const claims = study.claims ?? [];
  const found = id === undefined ? claims[0] : claims.find((claim) => claim.id === id);
  if (found !== undefined) return found;
  const known = claims.map((claim) => claim.id).join(', ');
  throw new NumberError(
    known === ''
      ? 'claims: received none, allowed is a study with a claim to judge'
      : `claim: received "${id ?? ''}", allowed is ${known}`,
  );
}

/**
 * Plans the judgement of a claim: baseline and change, both under each assumption, and the baseline at a row of gaps where a
 * gap is what it sets. A gap shorter than the baseline can achieve is never what the verdict is about: the shortest that it
 * can is put in its place. Throws as `planSpread`. Masses in kg, times in s.
 */
export function planClaim(study: Study, claim: Claim, options: ClaimOptions = {}): ClaimPlan {
  return finish(planClaimSteps(study, claim, options));
}

/** As `planClaim`, yielding between solves. Masses in kg, times in s. */
export function* planClaimSteps(
  study: Study,
  claim: Claim,
  options: ClaimOptions = {},
): Generator<SpreadProgress, ClaimPlan> {
  const cases: (SpreadCase & { key: string })[] = [];
  const caseOf = (name: string, ...sets: Readonly<Record<string, number>>[]): number => {
    const changes = toChanges(study, Object.assign({}, ...sets) as Record<string, number>);
    const key = JSON.stringify(changes);
    const known = cases.findIndex((each) => each.key === key);
    return known >= 0 ? known : cases.push({ name, changes, key }) - 1;
  };
  const { baseline, change } = claim;
  const gapPath = Object.keys(baseline.set).find((path) => path.endsWith('.trigger.gap_s')) ?? '';
  const claimedGap_s = gapPath === '' ? Number.NaN : baseline.set[gapPath]!;
  const least_s = baseline.leastGap_s ?? Number.NaN;
  const tooShort = claimedGap_s < least_s;
  const fair = gapPath === '' || Number.isNaN(least_s) ? {} : { [gapPath]: least_s };
  const achievable = tooShort ? fair : {};
  const variants: ClaimVariant[] = [];
  const add = (id: string, words: string, base: number, changed: number): void => {
    variants.push({
      id,
      words,
      baseline: base,
      change: changed,
      breaks: broken(study, claim, cases[base]!.changes, cases[changed]!.changes),
    });
  };
  const changed = caseOf.bind(null, change.name);
  const base = caseOf(
    tooShort ? `${baseline.name}, at its shortest gap of ${least_s} s` : baseline.name,
    baseline.set,
    achievable,
  );
  const other = changed(change.set);
  add('claim', 'as the claim is stated', base, other);
  if (tooShort)
    add(
      'unachievable',
      `it is held against a gap of ${claimedGap_s} s, which the baseline cannot achieve`,
      caseOf(baseline.name, baseline.set),
      other,
    );
  else if (claimedGap_s > least_s)
    add(
      'shortest-gap',
      `it is held against the shortest gap that the baseline can achieve, ${least_s} s`,
      caseOf(`${baseline.name}, at ${least_s} s`, baseline.set, fair),
      other,
    );
  for (const assumption of claim.assumptions) {
    add(
      assumption.id,
      assumption.words,
      caseOf(`${baseline.name}; ${assumption.id}`, baseline.set, achievable, assumption.baseline),
      caseOf(`${change.name}; ${assumption.id}`, change.set, assumption.change),
    );
  }
  const gaps_s =
    gapPath === ''
      ? []
      : [
          ...new Set([
            ...(Number.isNaN(least_s) ? [] : [least_s]),
            ...LADDER_s.filter((gap_s) => !(gap_s < least_s)),
          ]),
        ];
  const ladder = gaps_s.map((gap_s) => ({
    gap_s,
    baseline: caseOf(`${baseline.name}, at ${gap_s} s`, baseline.set, { [gapPath]: gap_s }),
  }));
  const weights = (from: number, to: number): number[] =>
    cases.map((_, c) => (c === to ? 1 : 0) - (c === from ? 1 : 0));
  const spread = yield* planSpreadSteps(study, {
    cases: cases.map(({ name, changes }) => ({ name, changes })),
    sums: [
      ...variants.flatMap((v, i) => [
        { key: `variantGain.${i}`, weights: weights(v.baseline, v.change), over: v.baseline },
        { key: `variantDifference_kg.${i}`, weights: weights(v.baseline, v.change) },
      ]),
      ...ladder.map((step, i) => ({
        key: `ladderGain.${i}`,
        weights: weights(step.baseline, other),
        over: step.baseline,
      })),
    ],
    ...(options.seed === undefined ? {} : { seed: options.seed }),
    ...(options.known === undefined ? {} : { known: options.known }),
    ...(options.stop === undefined ? {} : { stop: options.stop }),
  });
  return { claim, spread, variants, gapPath, claimedGap_s, ladder, change: other };
}

function toChanges(study: Study, set: Readonly<Record<string, number>>): NumberChange[] {
  // What is set to what it is anyway makes no other case.
  return Object.entries(set)
    .filter(([path, value]) => numberOf(study, path) !== value)
    .map(([path, value]) => ({ path, value }))
    .sort((p, q) => (p.path < q.path ? -1 : 1));
}

/** The rules of fair comparison whose numbers differ between two variants of the study. */
function broken(
  study: Study,
  claim: Claim,
  first: readonly NumberChange[],
  second: readonly NumberChange[],
): string[] {
  const [a, b] = [withNumbers(study, first), withNumbers(study, second)];
  const read = (from: Study, path: string): string => JSON.stringify(followPath(from, path).value);
  return claim.same
    .filter(({ paths }) => paths.some((path) => read(a, path) !== read(b, path)))
    .map(({ what }) => what);
}
