/**
 * What holds an answer, to first order: its conditions under another study with all its numbers kept, and what each is worth. By
 * the envelope theorem that is all that counts, since the free numbers have nothing left to give. A. V. Fiacco, Introduction to
 * Sensitivity and Stability Analysis in Nonlinear Programming, 1983 (from memory).
 */
import type { Study } from '../contract/study.ts';
import { PAYLOAD, recompile, type CompiledStudy } from '../flight/compile.ts';
import { RECORD_ACCURACY } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import { PlanError } from '../flight/planTypes.ts';
import { compileReturn } from '../recovery/compile.ts';
import { ReturnEngine } from '../recovery/engine.ts';
import { compileAnswer, type StudyAnswer } from './answer.ts';
import { limitsOf } from './limits.ts';
import type { SolveMemory } from './outcome.ts';
import { PayloadProblem } from './payloadProblem.ts';
import { OrbitTarget } from './target.ts';
import { TogetherProblem } from './togetherProblem.ts';

/** The part of an answer that is looked at here. */
type Answered = Pick<StudyAnswer, 'outcome' | 'asked'>;

/**
 * Prices in kg of payload per unit of residual, in the order of `conditionsUnder`: a change by d of one of them costs its price
 * times d. With a return in the problem those of touchdown, reserve and limits are among them. kg.
 */
export function pricesOf({ outcome, asked }: Answered): Float64Array {
  const { memory } = outcome;
  if (memory?.coupled === undefined) return outcome.multipliers_kg;
  const scale_kg = asked.parameters[PAYLOAD]!.scale;
  return Float64Array.from(memory.warm.multipliers, (multiplier) => -multiplier * scale_kg);
}

/**
 * Residuals of an answer's conditions under a study of the same kind, its numbers kept; or why they cannot be had. A number at
 * `path` that the flight reads and the ascent's solve keeps is flown with its own change. Dimensionless.
 */
export function conditionsUnder(
  { outcome, asked }: Answered,
  study: Study,
  path?: string,
): Float64Array | string {
  const { memory, values } = outcome;
  try {
    if (memory?.coupled !== undefined) return ofBoth(compileAnswer(study, asked), memory, path);
    return ofAscent(recompile(asked, study, asked.air, null), values, path);
  } catch (error) {
    if (error instanceof PlanError) return error.message;
    throw error;
  }
}

function ofAscent(compiled: CompiledStudy, numbers: Float64Array, path?: string): Float64Array | string {
  const engine = new FlightEngine(compiled, RECORD_ACCURACY);
  if (engine.fly(withOwn(compiled, numbers, path)) !== 'flown') return engine.status.message;
  const target = new OrbitTarget(compiled.study.target, compiled.earth);
  const out = new Float64Array(target.count);
  target.residuals(engine.end, out);
  return out;
}

/** The rows of the joint programme: target, touchdown, the ascent's limits, the reserve, the return's limits. */
function ofBoth(compiled: CompiledStudy, memory: SolveMemory, path?: string): Float64Array | string {
  const { plan, homeValues } = memory.coupled!;
  const engine = new FlightEngine(compiled, RECORD_ACCURACY);
  const values = withOwn(compiled, memory.values, path);
  if (engine.fly(values) !== 'flown') return engine.status.message;
  const home = compileReturn(compiled, plan, engine.plan);
  if (home.numbers.length !== homeValues.length) return 'the return has other numbers there';
  const homeFree = home.numbers.flatMap((_, i) => (i === home.at.reserve ? [] : [i]));
  const { reserve } = home.plan;
  const problem = new TogetherProblem(
    new PayloadProblem(engine, memory.free, values, limitsOf(compiled)),
    engine,
    new ReturnEngine(home, RECORD_ACCURACY),
    homeFree,
    homeValues,
    reserve.kind === 'taken' ? reserve.margin : 0,
  );
  const out = new Float64Array(problem.equalityCount + problem.inequalityCount);
  if (out.length !== memory.warm.multipliers.length) return 'the flight goes through other spans there';
  if (Number.isNaN(problem.evaluate(problem.variables(), out))) return 'the return does not fly there';
  return out;
}

function withOwn(compiled: CompiledStudy, numbers: Float64Array, path?: string): Float64Array {
  const values = Float64Array.from(numbers);
  const own = compiled.parameters.findIndex((p) => p.path === path && p.kind !== 'reserve');
  if (own >= 0) values[own] = compiled.parameters[own]!.value;
  return values;
}
