/** Ascent and flight home one after the other: the ascent knows nothing of the return but what is kept for it. */
import { compileStudy, recompile, startValues, type CompiledStudy } from '../flight/compile.ts';
import { SOLVE_ACCURACY } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import { PlanError } from '../flight/planTypes.ts';
import type { Study } from '../contract/study.ts';
import { compileReturn, type CompiledReturn } from '../recovery/compile.ts';
import { startOfReturn } from '../recovery/start.ts';
import type { PayloadOutcome, SolveCounts, SolveMemory } from './outcome.ts';
import { solvePayload } from './payload.ts';
import { solveReturn, type ReturnMemory, type ReturnOutcome } from './return.ts';

/** The reserve agrees with what the return asks for to this, kg. */
const AGREED_kg = 0.05;
const MOST_ROUNDS = 12;

/**
 * A study compiled for a solve with the return of an id: how much its body keeps is a parameter, the last one, out of a load
 * that stays as it is (kg). What a study compiled before (`like`) has in common with it is not made again. Throws PlanError
 * when there is no such return, or the body is not cut on its reserves.
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
  const cut = study.sequence.events.some(
    ({ trigger, action }) =>
      action.kind === 'cut' &&
      trigger.kind === 'propellant' &&
      trigger.body === plan.body &&
      trigger.left === 'reserves',
  );
  if (!cut) {
    throw new PlanError(
      `returns.plans.${id}.body`,
      `received "${plan.body}", which nothing cuts when its reserves are left, so what is kept decides nothing; allowed in a solve with the ascent is a body with a cut whose trigger is "propellant" with left "reserves"`,
    );
  }
  return like === undefined ? compileStudy(study, plan.body) : recompile(like, study, like.air, plan.body);
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
  readonly status: 'converged' | 'noAscent' | 'noReturn' | 'notSolved' | 'cancelled';
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
}

/**
 * Solves the ascent with a reserve, then the return from its parting; with a reserve that is what the return takes and a
 * margin, again and again with the reserve corrected by secants, until both agree to 0.05 kg. `compiled` is that of
 * `compileWithReturn`.
 */
export function solveInSequence(
  compiled: CompiledStudy,
  id: string,
  options: { readonly stop?: () => boolean; readonly memory?: SequenceMemory | null } = {},
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
  const taken = compiled.study.returns!.plans[id]!.reserve.kind === 'taken';
  const upper = compiled.parameters[reserveAt]!.upper;
  let reserve_kg = values[reserveAt]!;
  let before: { reserve_kg: number; miss_kg: number } | null = null;
  const ended = (status: SequenceOutcome['status'], message: string): SequenceOutcome => {
    const converged = status === 'converged';
    return {
      status,
      message,
      payload_kg: converged ? ascent!.payload_kg : Number.NaN,
      used_kg: converged ? home!.used_kg : Number.NaN,
      reserve_kg: converged ? ascent!.values[reserveAt]! : Number.NaN,
      ascent: ascent!,
      home,
      compiledHome,
      counts: sumCounts(counts),
      memory: converged && near !== null && nearHome !== null ? { ascent: near, home: nearHome } : null,
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
    compiledHome ??= compileReturn(compiled, id, engine.plan);
    const start = startOfReturn(engine, compiledHome.body, reserve_kg, ascent.values, compiled.makeLaws());
    if (start === null) return ended('noReturn', 'The ascent does not come to the parting of the body.');
    home = solveReturn(compiledHome, start, { ...(nearHome === null ? {} : { memory: nearHome }), stop });
    nearHome = home.memory ?? nearHome;
    counts.push(home.counts);
    if (home.status === 'cancelled') return ended('cancelled', home.message);
    if (home.status !== 'converged') return ended('noReturn', home.message);
    if (!taken) return ended('converged', 'Ascent and return are solved one after the other.');
    const miss_kg = home.reserve_kg - reserve_kg;
    if (Math.abs(miss_kg) < AGREED_kg)
      return ended('converged', `Ascent and return agree after ${round + 1} rounds.`);
    let next = home.reserve_kg;
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
