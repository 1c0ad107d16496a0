/** The returns that a study chooses, from the parting of its answer: what each takes, and whether what is kept for it is enough. */
import { PAYLOAD, type CompiledStudy } from '../flight/compile.ts';
import { SOLVE_ACCURACY } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import { PlanError } from '../flight/planTypes.ts';
import { compileReturn, type CompiledReturn } from '../recovery/compile.ts';
import { startOfReturn } from '../recovery/start.ts';
import type { StudyAnswer } from './answer.ts';
import { solvePayload } from './payload.ts';
import { solveReturn, type ReturnMemory, type ReturnOutcome } from './return.ts';
import { compileWithReturn } from './sequenceReturn.ts';

/** What became of a return that a study chooses. */
export interface ChosenReturn {
  /** Its id in the study, and its name. */
  readonly plan: string;
  readonly name: string;
  /** Null where the plan does not fit the flight; `outcome` then says nothing and `message` why. */
  readonly home: CompiledReturn | null;
  readonly outcome: ReturnOutcome | null;
  readonly verdict: ReserveVerdict;
}

/** Whether a body keeps enough for its return. Masses in kg. */
export interface ReserveVerdict {
  readonly plan: string;
  readonly name: string;
  /** Of the body. */
  readonly body: string;
  readonly kind: 'given' | 'taken';
  /**
   * taken: it keeps what the return takes and the margin, solved with the ascent. enough, short: what is given against what the
   * return takes from this parting. unknown: no return was found; `message` says why.
   */
  readonly state: 'taken' | 'enough' | 'short' | 'unknown';
  readonly kept_kg: number;
  /** NaN where no return was found. */
  readonly takes_kg: number;
  /** Kept beyond that, negative where it is short. */
  readonly spare_kg: number;
  /** That as a share of what is taken, where it is set; NaN where a reserve is given. */
  readonly margin: number;
  /** Payload that keeping no more than the return takes would add, negative where it is short; NaN unless asked for. */
  readonly worth_kg: number;
  readonly message: string;
}

export interface ChosenOptions {
  /** Where each return starts, by plan; cold when left out. */
  readonly memories?: ReadonlyMap<string, ReturnMemory>;
  /** Work out what the difference between kept and taken is worth. */
  readonly worth?: boolean;
  readonly stop?: () => boolean;
}

/** Solves the returns that the study of a converged answer chooses; the one that was solved with it stands as it is. SI. */
export function solveChosenReturns(answer: StudyAnswer, options: ChosenOptions = {}): ChosenReturn[] {
  const { compiled, outcome, coupled } = answer;
  const { chosen } = compiled.study.returns ?? { chosen: [] };
  if (chosen.length === 0) return [];
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  if (engine.fly(outcome.values) !== 'flown') return [];
  return chosen.map((plan) => {
    if (plan === coupled?.plan) return theCoupled(answer, plan);
    const solved = solveFrom(compiled, engine, outcome.values, plan, options);
    return { plan, name: compiled.study.returns!.plans[plan]!.name, ...solved };
  });
}

function theCoupled({ compiled, coupled }: StudyAnswer, plan: string): ChosenReturn {
  const { used_kg, reserve_kg, pricePerKilogram, home, outcome, body } = coupled!;
  const { name, reserve } = compiled.study.returns!.plans[plan]!;
  const spare_kg = reserve_kg - used_kg;
  const verdict = {
    ...({ plan, name, body: nameOf(compiled, body), kind: 'taken', state: 'taken' } as const),
    ...{ kept_kg: reserve_kg, takes_kg: used_kg, spare_kg, worth_kg: pricePerKilogram * spare_kg },
    margin: reserve.kind === 'taken' ? reserve.margin : Number.NaN,
    message: outcome.message,
  };
  return { plan, name, home, outcome, verdict };
}

/** A return from the parting of the engine's last flight. */
function solveFrom(
  compiled: CompiledStudy,
  engine: FlightEngine,
  values: Float64Array,
  plan: string,
  options: ChosenOptions,
): Pick<ChosenReturn, 'home' | 'outcome' | 'verdict'> {
  const { name, body, reserve } = compiled.study.returns!.plans[plan]!;
  const kept_kg = compiled.study.vehicle.bodies[body]?.propellant?.returnReserve_kg ?? 0;
  const known = { plan, name, body: nameOf(compiled, body), kind: reserve.kind, kept_kg };
  const none = { takes_kg: Number.NaN, spare_kg: Number.NaN, margin: Number.NaN, worth_kg: Number.NaN };
  const unknown = (message: string): ReserveVerdict => ({ ...known, ...none, state: 'unknown', message });
  let home: CompiledReturn;
  try {
    home = compileReturn(compiled, plan, engine.plan);
  } catch (error) {
    if (!(error instanceof PlanError)) throw error;
    return { home: null, outcome: null, verdict: unknown(`${error.message}.`) };
  }
  const start = startOfReturn(engine, home.body, home.reserve_kg, values, compiled.makeLaws());
  if (start === null) {
    const message = 'The ascent does not come to the parting of the body.';
    return { home: null, outcome: null, verdict: unknown(message) };
  }
  const { memories, stop } = options;
  const memory = memories?.get(plan);
  const outcome = solveReturn(home, start, {
    ...(memory === undefined ? {} : { memory }),
    ...(stop === undefined ? {} : { stop }),
  });
  const { status, message } = outcome;
  const enough = status === 'converged';
  // What would do from this parting is just what it takes then.
  const takes_kg = enough ? outcome.used_kg : status === 'reserveFallsShort' ? outcome.reserve_kg : NaN;
  if (!Number.isFinite(takes_kg) || (!enough && outcome.memory === null))
    return { home, outcome, verdict: unknown(message) };
  const worth_kg = options.worth === true ? worthOf(compiled, values, plan, takes_kg, stop) : Number.NaN;
  const verdict = {
    ...{ ...known, takes_kg, spare_kg: kept_kg - takes_kg, margin: Number.NaN, worth_kg, message },
    state: enough ? ('enough' as const) : ('short' as const),
  };
  return { home, outcome, verdict };
}

/** By how much the payload changes (kg) when just so much is kept, the ascent solved again from its answer; NaN where it is not. */
function worthOf(
  compiled: CompiledStudy,
  values: Float64Array,
  plan: string,
  takes_kg: number,
  stop?: () => boolean,
): number {
  if ((compiled.study.goal ?? 'mostPayload') !== 'mostPayload') return Number.NaN;
  try {
    const free = compileWithReturn(compiled.study, plan, compiled);
    const from = Float64Array.from([...values, takes_kg]);
    const stops = stop === undefined ? {} : { stop };
    const near = solvePayload(free, { values: from, fromValues: true, ...stops });
    const other = near.status === 'converged' ? near : solvePayload(free, { values: from, ...stops });
    return other.payload_kg - values[PAYLOAD]!;
  } catch (error) {
    if (error instanceof PlanError) return Number.NaN;
    throw error;
  }
}

const nameOf = ({ study }: CompiledStudy, body: string): string => study.vehicle.bodies[body]?.name ?? body;
