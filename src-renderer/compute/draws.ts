/** Spreads in the worker: planned, drawn on from what was kept, and kept. */
import { judgeClaim } from '../../core/study/claim/judge.ts';
import { findClaim, planClaimSteps, type ClaimPlan } from '../../core/study/claim/plan.ts';
import { bendOf, bendWeights, SOLVER_kg } from '../../core/study/fits.ts';
import { withGap } from '../../core/study/gap.ts';
import { flownStudy, gapPath } from '../../core/study/numbers.ts';
import { headerOf, drawCount } from '../../core/study/spread/header.ts';
import { partOf, tallyOf } from '../../core/study/spread/part.ts';
import { planSpreadSteps, type SpreadPlan } from '../../core/study/spread/plan.ts';
import { spreadSteps } from '../../core/study/spread/run.ts';
import { summarise, type SpreadSummary } from '../../core/study/spread/summary.ts';
import { SpreadTally } from '../../core/study/spread/tally.ts';
import type { Desk, Steps } from './desk.ts';
import { SpreadKeeper } from './keep.ts';
import type { ClaimReply, ClaimRequest, Kept, SpreadReply, SpreadRequest } from './protocol.ts';

const keeper = new SpreadKeeper();
/** What is done is kept so often, ms. */
const KEEP_ms = 1500;

interface Drawn {
  readonly tally: SpreadTally;
  readonly kept: Kept;
}

/** Draws members on top of those that are kept, and keeps them; null when it was called off, which keeps what there is. */
async function draw(
  desk: Desk,
  id: number,
  plan: SpreadPlan,
  members: number,
  planned: number,
): Promise<Drawn | null> {
  const found = keeper.find(plan.identity);
  const wanted = Math.max(members, found?.wanted ?? 0);
  const tally = found === undefined ? new SpreadTally(headerOf(plan)) : tallyOf(found.part);
  const before = summarise(tally).members;
  const keep = (all: number): Promise<void> =>
    keeper.keep({ identity: plan.identity, plan, part: partOf(tally), wanted: all, kept_ms: Date.now() });
  const solves = plan.cases.length * drawCount(plan);
  const steps = spreadSteps(plan, { from: 0, to: wanted, tally, stop: desk.stopOf(id) });
  let kept_ms = performance.now();
  const keeping: Iterator<Steps, SpreadTally> = {
    next: () => {
      if (performance.now() - kept_ms > KEEP_ms) {
        kept_ms = performance.now();
        void keep(wanted);
      }
      return steps.next();
    },
  };
  const whole = await desk.workThrough(id, keeping, ({ done }) => ({
    done: planned + (done - before) * solves,
    of: planned + (wanted - before) * solves,
  }));
  const has = summarise(tally).members;
  // A stopped spread is not gone on with by itself.
  if (has > before || whole === null) await keep(whole === null ? has : wanted);
  return whole === null ? null : { tally, kept: { before, complaint: keeper.complaint } };
}

/** What is shown while a plan is made: solves, those of the members that follow included. */
function planning(members: number, draws: (inputs: number) => number, cases: number): (step: Steps) => Steps {
  return ({ done, of }) => ({ done, of: of + members * cases * draws(of / cases - 1) });
}

export async function spread(desk: Desk, id: number, request: SpreadRequest): Promise<SpreadReply | null> {
  const { study, event, gaps_s, members, seed, indices } = request;
  await keeper.open();
  const cases = gaps_s.map((value) => ({ name: `${value} s`, changes: [{ path: gapPath(event), value }] }));
  // Over the kink at no gap no parabola is laid.
  const bendGaps_s = gaps_s.filter((gap_s) => gap_s >= 0);
  const weights = bendWeights(bendGaps_s);
  const onAll = gaps_s.map((gap_s) => weights[bendGaps_s.indexOf(gap_s)] ?? 0);
  const sums = weights.length === 0 ? [] : [{ key: 'bend_kg', weights: onAll }];
  // The same study whatever its own gap and its claims, so that what was drawn is found again.
  const own = withGap(flownStudy(study), event, gaps_s[0]!);
  const known = (identity: string): SpreadPlan | undefined => keeper.find(identity)?.plan;
  let planned = 0;
  const plan = await desk.workThrough(
    id,
    planSpreadSteps(own, { cases, seed, indices, sums, known, stop: desk.stopOf(id) }),
    (step) => {
      planned = step.of;
      return planning(members, (inputs) => (indices ? inputs + 2 : 1), cases.length)(step);
    },
  );
  if (plan === null) return null;
  const drawn = await draw(desk, id, plan, members, planned);
  if (drawn === null) return null;
  const summary = summarise(drawn.tally);
  return {
    gaps_s,
    summary,
    inputs: plan.inputs.map((input) => input.path),
    kept: drawn.kept,
    bend: weights.length === 0 ? null : bendOfSpread(plan, summary, gaps_s, bendGaps_s),
  };
}

function bendOfSpread(
  plan: SpreadPlan,
  summary: SpreadSummary,
  gaps_s: readonly number[],
  bendGaps_s: readonly number[],
): SpreadReply['bend'] {
  const payloads_kg = bendGaps_s.map((gap_s) => plan.cases[gaps_s.indexOf(gap_s)]!.payload_kg);
  const band = summary.quantities.find(({ key }) => key === 'bend_kg');
  const sure = band !== undefined && Number.isFinite(band.p5) ? band : undefined;
  return bendOf(bendGaps_s, payloads_kg, SOLVER_kg, sure, 'kg');
}

export async function judge(desk: Desk, id: number, request: ClaimRequest): Promise<ClaimReply | null> {
  const { study, members, seed } = request;
  await keeper.open();
  const claim = findClaim(study, request.claim);
  const known = (identity: string): SpreadPlan | undefined => keeper.find(identity)?.plan;
  let planned = 0;
  const plan: ClaimPlan | null = await desk.workThrough(
    id,
    planClaimSteps(flownStudy(study), claim, { seed, known, stop: desk.stopOf(id) }),
    (step) => {
      planned = step.of;
      // As many solves in all as the plan takes and the members in each of its cases.
      const inputs = Object.values(study.provenance).filter(({ spread: own }) => own !== undefined).length;
      return planning(members, () => 1, step.of / (1 + inputs))(step);
    },
  );
  if (plan === null) return null;
  const drawn = await draw(desk, id, plan.spread, members, planned);
  if (drawn === null) return null;
  const summary = summarise(drawn.tally);
  return { claim, verdict: judgeClaim(plan, summary), summary, kept: drawn.kept };
}
