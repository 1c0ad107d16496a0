/** The heavy demo's booster, flown to its parting, with whatever plan of a return a test wants. */
import { loadStudy } from '../../../core/contract/load.ts';
import { compileStudy, startValues, type CompiledStudy } from '../../../core/flight/compile.ts';
import { SOLVE_ACCURACY } from '../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { compileReturn, type CompiledReturn } from '../../../core/recovery/compile.ts';
import { startOfReturn, type ReturnStart } from '../../../core/recovery/start.ts';
import { textOf } from '../../assets/demos.ts';

/** What tests change in a plan. */
interface PlanData {
  reserve: object;
  landing: object;
  entry: object;
  limits: object;
}

interface HeavyData {
  returns: { plans: Record<string, PlanData> };
  provenance: object;
}

/** The demo's document with something changed in the plan `id`. */
export function heavyWith(id: string, change: (plan: PlanData) => unknown): CompiledStudy {
  const document = JSON.parse(textOf('heavy')) as HeavyData;
  change(document.returns.plans[id]!);
  document.provenance = {};
  const result = loadStudy(JSON.stringify(document));
  if (!result.ok) throw new Error(result.problems.map((problem) => problem.sentence).join('\n'));
  return compileStudy(result.study);
}

export interface Parted {
  readonly compiled: CompiledReturn;
  readonly start: ReturnStart;
}

/** The return of an id with its start, from the ascent that the study's own numbers fly. */
export function parted(study: CompiledStudy, id: string): Parted {
  const engine = new FlightEngine(study, SOLVE_ACCURACY);
  const values = startValues(study);
  if (engine.fly(values) !== 'flown') throw new Error(engine.status.message);
  const compiled = compileReturn(study, id);
  const start = startOfReturn(engine, compiled.body, compiled.reserve_kg, values, study.makeLaws());
  if (start === null) throw new Error('the ascent has no such parting');
  return { compiled, start };
}
