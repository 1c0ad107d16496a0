/** Ascent and flight home one after the other: the ascent knows nothing of the return but what is kept for it. */
import { compileStudy, recompile, startValues, type CompiledStudy } from '../flight/compile.ts';
import { SOLVE_ACCURACY } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import { PlanError } from '../flight/planTypes.ts';
import type { Study } from '../contract/study.ts';
import { compileReturn, type CompiledReturn } from '../recovery/compile.ts';
import { cutOnReserves, startOfReturn } from '../recovery/start.ts';
import type { PayloadOutcome, SolveCounts, SolveMemory } from './outcome.ts';
import { solvePayload } from './payload.ts';
import { solveReturn, type ReturnMemory, type ReturnOutcome } from './return.ts';

/** The reserve agrees with what the return asks for to this, kg. */
const AGREED_kg = 0.05;
const MOST_ROUNDS = 12;
/** A start for both together needs agreement to this share of the reserve only. */
const NEAR = 0.003;

/**
 * A study compiled for a solve with the return of an id: how much its body keeps is a parameter, the last one, out of a load
 * that stays as it is (kg), and free where the body is cut on its reserves; else what is left over stands in its place. What a
 * study compiled before (`like`) has in common with it is not made again. Throws PlanError when there is no such return.
 */
export function compileWithReturn(study: Study, id: string, like?: CompiledStudy): CompiledStudy {
  const plan = study.returns?.plans[id];
  if (plan === undefined) {
    const known = Object.keys(study.returns?.plans ?? {}).join(', ');
    throw new PlanError(
      `returns.plans.${id}`,
      `there is no such return; allowed is ${known === '' ? 'none, as the study has none' : known}`,
    );
  }
  return like === undefined ? compileStudy(study, plan.body) : recompile(like, study, like.air, plan.body);
}

/** Whether how much is kept for the return of an id is for the solve to say: it covers what it takes, and decides when the body is cut. */
export function reserveIsFree({ study }: CompiledStudy, id: string): boolean {
  const { reserve, body } = study.returns!.plans[id]!;
  return reserve.kind === 'taken' && cutOnReserves(study, body);
}

/** The share of what the return of an id takes that is to be kept beside it. Unitless. */
export function marginOf({ study }: CompiledStudy, id: string): number {
  const { reserve } = study.returns!.plans[id]!;
  return reserve.kind === 'taken' ? reserve.margin : 0;
}

/** The return by itself has what the ascent leaves it, unless the reserve is free. */
function withGiven(home: CompiledReturn, free: boolean): CompiledReturn {
  return free ? home : { ...home, plan: { ...home.plan, reserve: { kind: 'given' } } };
}

/** The study with so much kept (kg) for the return of a body, out of the same load. Nothing is changed in place. */
export function withReserve(study: Study, body: string, reserve_kg: number): Study {
  const own = study.vehicle.bodies[body]!;
  const { propellant } = own;
  if (propellant === undefined) return study;
  const usable_kg = propellant.usable_kg + propellant.returnReserve_kg - reserve_kg;
  const changed = { ...own, propellant: { ...propellant, usable_kg, returnReserve_kg: reserve_kg } };
  return {
    ...study,
    vehicle: { ...study.vehicle, bodies: { ...study.vehicle.bodies, [body]: changed } },
  };
}

/** What a neighbour of it can start from. */
export interface SequenceMemory {
  readonly ascent: SolveMemory;
  readonly home: ReturnMemory;
}

/** Ascent and return that agree on the reserve, or how far they came. */
export interface SequenceOutcome {
  readonly status:
    | 'converged'
    /** Only so far as both together can start from. */
    | 'near'
    | 'noAscent'
    | 'noReturn'
    | 'notSolved'
    | 'cancelled';
  /** One sentence for people. */
  readonly message: string;
  /** kg; NaN unless converged. */
  readonly payload_kg: number;
  readonly used_kg: number;
  readonly reserve_kg: number;
  /** The last of each. */
  readonly ascent: PayloadOutcome;
  readonly home: ReturnOutcome | null;
  readonly compiledHome: CompiledReturn | null;
  readonly counts: SolveCounts;
  readonly memory: SequenceMemory | null;
  /** Numbers of ascent and return (SI, radians) of the first round in which they nearly agreed, for both together to start from. */
  readonly start: { readonly values: Float64Array; readonly homeValues: Float64Array } | null;
}

/**
 * Solves the ascent with a reserve, then the return from its parting; with a reserve that is what the return takes and a
 * margin, again and again with the reserve corrected by secants, until both agree to 0.05 kg; with `near` to 0.3 % of it.
 * `compiled` is that of `compileWithReturn`.
 */
export function solveInSequence(
  compiled: CompiledStudy,
  id: string,
  options: {
    readonly stop?: () => boolean;
    readonly memory?: SequenceMemory | null;
    readonly near?: boolean;
  } = {},
): SequenceOutcome {
  const stop = options.stop ?? ((): boolean => false);
  let near = options.memory?.ascent ?? null;
  let nearHome = options.memory?.home ?? null;
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  const reserveAt = compiled.parameters.length - 1;
  const values = startValues(compiled);
  const counts: SolveCounts[] = [];
  let ascent: PayloadOutcome | null = null;
  let home: ReturnOutcome | null = null;
  let compiledHome: CompiledReturn | null = null;
  const taken = reserveIsFree(compiled, id);
  const margin = marginOf(compiled, id);
  const upper = compiled.parameters[reserveAt]!.upper;
  let reserve_kg = values[reserveAt]!;
  let nearly: SequenceOutcome['start'] = null;
  let before: { reserve_kg: number; miss_kg: number } | null = null;
  const ended = (status: SequenceOutcome['status'], message: string): SequenceOutcome => {
    const converged = status === 'converged';
    const kept = converged || status === 'near';
    return {
      status,
      message,
      payload_kg: converged ? ascent!.payload_kg : Number.NaN,
      used_kg: converged ? home!.used_kg : Number.NaN,
      reserve_kg: converged ? home!.start.reserve_kg : Number.NaN,
      ascent: ascent!,
      home,
      compiledHome,
      counts: sumCounts(counts),
      memory: kept && near !== null && nearHome !== null ? { ascent: near, home: nearHome } : null,
      start: nearly,
    };
  };
  for (let round = 0; round < MOST_ROUNDS; round++) {
    values[reserveAt] = reserve_kg;
    ascent = solveAt(compiled, reserveAt, reserve_kg, values, near, stop);
    near = ascent.memory ?? near;
    counts.push(ascent.counts);
    if (ascent.status === 'cancelled') return ended('cancelled', ascent.message);
    if (ascent.status !== 'converged') return ended('noAscent', ascent.message);
    engine.fly(ascent.values);
    compiledHome ??= withGiven(compileReturn(compiled, id, engine.plan), taken);
    const start = startOfReturn(engine, compiledHome.body, reserve_kg, ascent.values, compiled.makeLaws());
    if (start === null) return ended('noReturn', 'The ascent does not come to the parting of the body.');
    home = solveReturn(compiledHome, start, { ...(nearHome === null ? {} : { memory: nearHome }), stop });
    nearHome = home.memory ?? nearHome;
    counts.push(home.counts);
    if (home.status === 'cancelled') return ended('cancelled', home.message);
    if (home.status !== 'converged') return ended('noReturn', home.message);
    if (!taken) {
      if ((1 + margin) * home.used_kg <= start.reserve_kg)
        return ended('converged', 'Ascent and return are solved one after the other.');
      const kept = (start.reserve_kg / 1000).toFixed(1);
      return ended(
        'noReturn',
        `The return takes more with its margin than is left for it: ${kept} t, since nothing cuts its body when its reserves are left; cut it sooner, or on its reserves, or stage lower or slower.`,
      );
    }
    const miss_kg = home.reserve_kg - reserve_kg;
    if (Math.abs(miss_kg) < NEAR * reserve_kg) {
      nearly ??= { values: ascent.values, homeValues: home.values };
      if (options.near === true) return ended('near', 'Ascent and return nearly agree.');
    }
    if (Math.abs(miss_kg) < AGREED_kg)
      return ended('converged', `Ascent and return agree after ${round + 1} rounds.`);
    // The more is kept, the slower and nearer it parts, and the less it takes: by about as much.
    let next = reserve_kg + 0.5 * miss_kg;
    if (before !== null && miss_kg !== before.miss_kg) {
      next = reserve_kg - (miss_kg * (reserve_kg - before.reserve_kg)) / (miss_kg - before.miss_kg);
    }
    before = { reserve_kg, miss_kg };
    // From one round to the next by half of what may still be kept at most.
    reserve_kg = Math.min(Math.max(next, 0.5 * reserve_kg), 0.5 * (reserve_kg + upper));
  }
  return ended('notSolved', `Ascent and return do not agree on a reserve after ${MOST_ROUNDS} rounds.`);
}

/** The ascent with a reserve, from a neighbour where there is one. */
function solveAt(
  compiled: CompiledStudy,
  reserveAt: number,
  reserve_kg: number,
  values: Float64Array,
  near: SolveMemory | null,
  stop: () => boolean,
): PayloadOutcome {
  if (near?.values.length !== values.length) return solvePayload(compiled, { values, stop });
  const from = Float64Array.from(near.values);
  from[reserveAt] = reserve_kg;
  return solvePayload(compiled, { memory: { ...near, values: from }, stop });
}

/** All counts together; unitless. */
export function sumCounts(counts: readonly SolveCounts[]): SolveCounts {
  const total = (pick: (each: SolveCounts) => number): number =>
    counts.reduce((sum, each) => sum + pick(each), 0);
  return {
    flights: total((each) => each.flights),
    reflights: total((each) => each.reflights),
    rightHandSides: total((each) => each.rightHandSides),
    iterations: total((each) => each.iterations),
  };
}
