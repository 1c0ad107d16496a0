/** Solves for the most payload that reaches the target orbit with every reserve intact. */
import { EARTH_POLAR_RADIUS_m } from '../constants/physical.ts';
import { AZIMUTH, PAYLOAD, startValues, type CompiledStudy } from '../flight/compile.ts';
import { SOLVE_ACCURACY } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import type { NlpResult, WarmStart } from '../nlp/problem.ts';
import { SqpSolver } from '../nlp/sqp.ts';
import type { FlightPlan } from '../flight/planTypes.ts';
import { burnedPropellant_kg, endMass_kg, TimedPlans } from '../flight/timed.ts';
import { findCoast } from './coast.ts';
import { coastStart } from './coastStart.ts';
import { coldStarts, emptyIdealVelocity_mps, leastKickStart, type ColdStart } from './coldStart.ts';
import { limitsOf, type Limit } from './limits.ts';
import { limitOutcomes, solveLimited } from './limitedSolve.ts';
import type { PayloadOptions, PayloadOutcome, PayloadStatus } from './outcome.ts';
import { PayloadProblem } from './payloadProblem.ts';
import { OrbitTarget } from './target.ts';
import { wideStarts } from './wideStart.ts';

export type { PayloadOptions, PayloadOutcome, SolveCounts, SolveMemory } from './outcome.ts';

/** Conditions met to 0.1 mm and 1 µm/s; the payload is then good to grams. */
const FEASIBILITY = 1e-8;
/** Scaled KKT residual; the payload errs with its square. */
const OPTIMALITY = 1e-6;
const MOST_STEPS = 80;
/** Steps allowed for each free number, where there are many. */
const STEPS_EACH = 10;
/** Starts that a solve tries when its first came to nothing. */
const MOST_WIDE_STARTS = 6;

/**
 * The most payload (kg) of a compiled study, or what else its goal is, within its limits. Judged by feasibility and KKT
 * residual alone; anything else comes back with a status and a sentence, never as an answer. A cold solve under limits starts
 * from the answer without them.
 */
export function solvePayload(compiled: CompiledStudy, options: PayloadOptions = {}): PayloadOutcome {
  const limits = limitsOf(compiled);
  if (limits.length === 0) return solveWithin(compiled, options, null);
  return solveLimited(compiled, options, limits, (given, bounds) => solveWithin(compiled, given, bounds));
}

/** As `solvePayload`, within these limits, or without account of any. Payload in kg. */
function solveWithin(
  compiled: CompiledStudy,
  options: PayloadOptions,
  bounds: readonly Limit[] | null,
): PayloadOutcome {
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  const free = options.free ?? freeParameters(compiled);
  const base = Float64Array.from(options.memory?.values ?? options.values ?? startValues(compiled));
  const problem = new PayloadProblem(engine, free, base, bounds);
  let iterations = 0;
  const outcome = (status: PayloadStatus, message: string, result: NlpResult | null): PayloadOutcome => {
    if (result !== null) problem.adopt(result.x);
    problem.values[AZIMUTH] = wholeTurn_rad(problem.values[AZIMUTH]!);
    const scale = compiled.parameters[PAYLOAD]!.scale;
    const converged = status === 'converged';
    const plan = converged ? planAt(compiled, problem.values) : null;
    return {
      status,
      message,
      payload_kg: converged ? problem.values[PAYLOAD]! : Number.NaN,
      finalMass_kg: plan === null ? Number.NaN : endMass_kg(plan, problem.values[PAYLOAD]!),
      propellant_kg: plan === null ? Number.NaN : burnedPropellant_kg(plan),
      limits: result === null ? [] : limitOutcomes(engine, problem, result, scale),
      values: Float64Array.from(problem.values),
      free,
      multipliers_kg: Float64Array.from(result?.equalityMultipliers ?? [], (m) => -m * scale),
      kktResidual: result?.kktResidual ?? Number.NaN,
      feasibility: result?.feasibility ?? Number.NaN,
      counts: {
        flights: engine.flights,
        reflights: engine.reflights,
        rightHandSides: engine.driver.stepper.evaluations,
        iterations,
      },
      memory:
        status === 'converged' && result !== null
          ? { values: Float64Array.from(problem.values), free, warm: result.warm }
          : null,
    };
  };
  if (problem.variableCount < problem.equalityCount) {
    return outcome(
      'notSolved',
      `The target asks for ${problem.equalityCount} conditions and the study leaves ${problem.variableCount} numbers free; free more steering.`,
      null,
    );
  }
  const solver = new SqpSolver(problem.variableCount, problem.equalityCount, problem.inequalityCount);
  const attempt = (values: Float64Array, warm?: WarmStart): NlpResult => {
    problem.values.set(values);
    const result = solver.solve(problem, problem.variables(), {
      feasibilityTolerance: FEASIBILITY,
      optimalityTolerance: OPTIMALITY,
      maxIterations: Math.max(MOST_STEPS, STEPS_EACH * free.length),
      ...(warm === undefined ? {} : { start: warm }),
      ...(options.stop === undefined ? {} : { stop: options.stop }),
    });
    iterations += result.iterations;
    return result;
  };
  const payloadAt = free.indexOf(PAYLOAD);
  const payloadOf = (result: NlpResult): number =>
    payloadAt < 0 ? base[PAYLOAD]! : result.x[payloadAt]! * compiled.parameters[PAYLOAD]!.scale;
  /** An answer, or that there is none, from a programme that converged. */
  const answer = (result: NlpResult): PayloadOutcome => {
    const payload = payloadOf(result);
    return payload >= 0
      ? outcome('converged', result.message, result)
      : outcome('cannotReachOrbit', fallsShort(payload), result);
  };
  const { memory } = options;
  if (memory !== undefined || options.fromValues === true) {
    const same =
      memory !== undefined &&
      memory.free.length === free.length &&
      memory.free.every((p, i) => p === free[i]) &&
      memory.warm.multipliers.length === problem.equalityCount + problem.inequalityCount;
    const result = attempt(base, same ? memory.warm : undefined);
    if (result.stop === 'cancelled') return outcome('cancelled', result.message, result);
    if (options.fromValues === true)
      return result.stop === 'converged' ? answer(result) : outcome('notSolved', result.message, result);
    if (result.stop === 'converged' && payloadOf(result) >= 0) return answer(result);
  }
  const tried: NlpResult[] = [];
  const stops = options.stop ?? (() => false);
  /** The best that the starts come to, or what stopped them: null when none converged. */
  const bestOf = (starts: readonly ColdStart[]): NlpResult | null => {
    let best: NlpResult | null = null;
    for (const start of starts) {
      const result = attempt(start.values);
      tried.push(result);
      if (result.stop === 'cancelled') return null;
      if (result.stop === 'converged' && (best === null || result.objective < best.objective)) best = result;
    }
    return best;
  };
  const coast = findCoast(compiled);
  const staged = coast === null ? null : coastStart(engine, coast, free, base, solvePayload, options.stop);
  let best = bestOf(staged === null ? coldStarts(engine, free, base, 1, options.stop) : [staged]);
  if (best !== null && !stops()) {
    problem.adopt(best.x);
    const upright = leastKickStart(engine, free, problem.values);
    const other = upright === null ? null : bestOf([upright]);
    if (other !== null && other.objective < best.objective) best = other;
  }
  if (stops()) return outcome('cancelled', 'Cancelled before an answer was found.', best);
  if (best !== null && payloadOf(best) >= 0) return answer(best);
  // Its own weight, not that of the payloads tried, must be too much.
  const empty = Float64Array.from(base);
  empty[PAYLOAD] = 0;
  if (!stops() && engine.fly(empty) === 'cannotLiftOff')
    return outcome('cannotLiftOff', engine.status.message, null);
  const target = new OrbitTarget(compiled.study.target, compiled.earth);
  // What waits for state triggers is known to its end only where it has been flown there, and free times may be others.
  const { plan } = engine;
  const known = plan.brokenOff === null && compiled.timed.length === 0;
  const ideal = known ? emptyIdealVelocity_mps(compiled, plan) : Number.POSITIVE_INFINITY;
  const needed = target.leastVelocity_mps(compiled.site.state, lowestRadius_m(compiled));
  if (ideal < needed) {
    return outcome(
      'cannotReachOrbit',
      `The empty vehicle has an ideal velocity of ${ideal.toFixed(0)} m/s and the orbit needs ${needed.toFixed(0)} m/s before any loss; give it more propellant, less dry mass or a lower orbit.`,
      null,
    );
  }
  const search = wideStarts(engine, free, base, MOST_WIDE_STARTS, options.stop);
  const fell = engine.status;
  const wide = bestOf(search.starts);
  if (wide !== null && (best === null || wide.objective < best.objective)) best = wide;
  const last = tried[tried.length - 1] ?? null;
  if (stops()) return outcome('cancelled', 'Cancelled before an answer was found.', last);
  if (best !== null) return answer(best);
  if (!search.anyFlown && search.allFell) return outcome('cannotReachOrbit', FALLS_BACK, last);
  const stuck = tried.filter((result) => result.stop === 'infeasible');
  if (stuck.length > 0) {
    const nearest = stuck.reduce((p, q) => (q.feasibility < p.feasibility ? q : p));
    return outcome('cannotReachOrbit', staysAway(tried.length, nearest.feasibility), nearest);
  }
  return outcome(
    'notSolved',
    last === null || last.stop === 'startInvalid'
      ? `No flight came to insertion from any start. The last one: ${fell.message} Check thrust, masses and the times of the sequence.`
      : `${last.message} ${WHAT_TO_TRY}`,
    last,
  );
}

const WHAT_TO_TRY = 'Try another kick or upper-stage steering in the study, or a lower orbit.';
const FALLS_BACK =
  'Even without payload the vehicle falls back to the ground before its last burn ends, however it is steered; give it more thrust, or a shorter wait between its stages.';

/** What a vehicle is told all of whose flights stay away from the orbit; `violation` in units of 10 km or 100 m/s. */
function staysAway(starts: number, violation: number): string {
  const near = `${(10 * violation).toFixed(1)} km or ${(100 * violation).toFixed(0)} m/s`;
  return `This steering does not bring the vehicle to the orbit, whatever the payload: of ${starts} searches none came nearer than ${near}; give it more velocity or thrust, a lower orbit or another steering.`;
}

/** The plan of a flight that ends under these values (SI, radians), as far as times and state triggers decide it. */
function planAt(compiled: CompiledStudy, values: Float64Array): FlightPlan {
  if (!compiled.waits) return new TimedPlans(compiled).at(values);
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  engine.fly(values);
  return engine.plan;
}

/** What a vehicle is told whose best flight carries less than nothing (kg). */
function fallsShort(payload_kg: number): string {
  return `Even without payload the vehicle falls short of the orbit: its best flight gets there ${(-payload_kg).toFixed(0)} kg lighter at insertion; give it more propellant, less dry mass, more thrust or a lower orbit.`;
}

/** No flight comes below this radius before it counts as fallen, m. */
function lowestRadius_m({ study, earth }: CompiledStudy): number {
  const radius = study.earth.figure === 'sphere' ? earth.radius_m : EARTH_POLAR_RADIUS_m;
  return radius + Math.min(0, study.site.height_m) - 1;
}

/** The same azimuth from 0 to below a turn, where a study keeps it; rad. One that lies there is left as it is. */
function wholeTurn_rad(azimuth_rad: number): number {
  const turn = 2 * Math.PI;
  return azimuth_rad >= 0 && azimuth_rad <= turn
    ? azimuth_rad
    : azimuth_rad - turn * Math.floor(azimuth_rad / turn);
}

/** Indices of the parameters that the study leaves free. Unitless. */
export function freeParameters(compiled: CompiledStudy): number[] {
  return compiled.parameters.flatMap((parameter, index) => (parameter.free ? [index] : []));
}
