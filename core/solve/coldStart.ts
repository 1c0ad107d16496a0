/**
 * A start for the solve that needs no guess. The kick is bisected to a flight-path angle at the end of the booster phase,
 * the upper law and the payload are guessed from the budget of velocity and closed on the orbit, for a row of angles.
 * What comes out is feasible or nearly so; the optimum is then the programme's business.
 */
import { AZIMUTH, PAYLOAD, type CompiledStudy } from '../flight/compile.ts';
import type { FlightEngine } from '../flight/engine.ts';
import { SqpSolver } from '../nlp/sqp.ts';
import { idealVelocity_mps, payloadForIdealVelocity_kg, thrustMoments } from './budget.ts';
import { guessLinearTangent } from './guidance.ts';
import { PayloadProblem } from './payloadProblem.ts';
import { OrbitTarget } from './target.ts';

/** Inertial flight-path angles at the end of the booster phase to try in turn, rad. Common practice, no source. */
const ANGLES_rad = [24, 16, 34, 9, 46, 4, 60].map((deg) => (deg * Math.PI) / 180);
/** Losses between ideal and inertial velocity to reckon with at first, m/s: gravity, steering, drag less the Earth's turning. */
const LOSSES_mps = 1300;

/** Kicks among which the steepest flight is looked for, rad. */
const SMALL_KICKS_rad = [1e-4, 5e-4, 1e-3, 2e-3, 3e-3, 5e-3, 8e-3, 0.012];

export interface ColdStart {
  /** Parameter values, SI and radians. */
  readonly values: Float64Array;
  /** The orbit is met. */
  readonly feasible: boolean;
}

/** An upper law that can be guessed by guidance. */
export interface UpperLaw {
  /** Index of its first number among the parameters. */
  readonly first: number;
  /** Writes its numbers (SI, radians) so that tan θ = a + b t, a dimensionless and b in 1/s. */
  readonly take: (values: Float64Array, a: number, b_ps: number) => void;
}

/** Roles of the free numbers that the cold start knows how to guess, by parameter index; −1 when absent. */
export interface Roles {
  readonly kick: number;
  /** The upper law that can be guessed; null when there is none. */
  readonly law: UpperLaw | null;
  /** First segment flown by the upper law. */
  readonly upperSegment: number;
  /** The event whose law that is, −1 when there is none. */
  readonly upperEvent: number;
}

/**
 * Starts for a solve over the free parameters `free`, best first: each flies, and feasible ones come before others. Empty
 * when no flight came to insertion. Angles in radians. `stop` is asked between flights.
 */
export function coldStarts(
  engine: FlightEngine,
  free: readonly number[],
  base: Float64Array,
  most: number,
  stop: () => boolean = () => false,
): ColdStart[] {
  const { compiled } = engine;
  const roles = findRoles(compiled, free);
  const target = new OrbitTarget(compiled.study.target, compiled.earth);
  // What waits for state triggers is planned only as it is flown.
  if (isFlownFirst(compiled)) engine.fly(base);
  const { segments } = engine.plan;
  const first = segments.findIndex((segment) => !segment.held);
  const mostPayload = compiled.parameters[PAYLOAD]!.upper;
  const carries = free.includes(PAYLOAD);
  const starts: ColdStart[] = [];
  const payload = payloadForIdealVelocity_kg(segments, first, target.speed_mps + LOSSES_mps, mostPayload);
  for (const angle of roles.kick < 0 ? [Number.NaN] : ANGLES_rad) {
    if (stop() || starts.filter((start) => start.feasible).length >= most) break;
    const values = Float64Array.from(base);
    if (carries) values[PAYLOAD] = payload;
    if (roles.kick >= 0 && !bisectKick(engine, values, roles, angle)) continue;
    const flown = engine.plan.segments;
    const upper = isFlownFirst(compiled) ? engine.reached : roles.upperSegment;
    const state = engine.stateAt(upper);
    if (roles.law !== null) {
      // Payload that the velocity still wanting allows, with the losses of a shallow upper burn.
      const wanting = target.speed_mps - Math.hypot(state[3]!, state[4]!, state[5]!) * Math.cos(angle) + 250;
      const fits = payloadForIdealVelocity_kg(flown, upper, wanting, mostPayload);
      if (carries) values[PAYLOAD] = 0.5 * (values[PAYLOAD]! + fits);
      const moments = thrustMoments(flown, upper, values[PAYLOAD]!);
      const guess = guessLinearTangent(state, moments, target.radius_m, target.speed_mps, target.gm_m3ps2);
      roles.law.take(values, guess.a, guess.b_ps);
    }
    const closed = close(
      engine,
      free.filter((p) => p !== roles.kick),
      values,
      stop,
    );
    if (closed !== null) starts.push(closed);
  }
  return starts.sort(
    (p, q) => Number(q.feasible) - Number(p.feasible) || q.values[PAYLOAD]! - p.values[PAYLOAD]!,
  );
}

/**
 * The start to try beside an answer that heads west: the answer's numbers (SI, radians) with the least kick. Against the
 * Earth's turn a vehicle that rises upright already leans away from its azimuth, so that no kick at all can be an optimum of
 * its own beside one with a kick. Null when the answer heads east or has no free kick.
 */
export function leastKickStart(
  engine: FlightEngine,
  free: readonly number[],
  answer: Float64Array,
): ColdStart | null {
  const { kick } = findRoles(engine.compiled, free);
  if (kick < 0 || !(Math.sin(answer[AZIMUTH]!) < 0)) return null;
  const values = Float64Array.from(answer);
  values[kick] = engine.compiled.parameters[kick]!.lower;
  return { values, feasible: false };
}

/** Ideal velocity (m/s) of the empty vehicle from release to insertion, for the reason why nothing reaches orbit. */
export function emptyIdealVelocity_mps(compiled: CompiledStudy, plan = compiled.plan): number {
  const { segments } = plan;
  return idealVelocity_mps(
    segments,
    segments.findIndex((segment) => !segment.held),
    0,
  );
}

/** Whether a study's plan is known only as it is flown, or depends on the numbers solved for. Unitless. */
export function isFlownFirst({ waits, timed }: CompiledStudy): boolean {
  return waits || timed.length > 0;
}

/** The roles of the free numbers of a study, as parameter indices. Unitless. */
export function findRoles(compiled: CompiledStudy, free: readonly number[]): Roles {
  const find = (end: string): number => free.find((p) => compiled.parameters[p]!.path.endsWith(end)) ?? -1;
  const law = upperLaw(compiled, find);
  const { segments } = compiled.plan;
  return {
    kick: find('.law.angle_deg'),
    law,
    upperSegment: law === null ? segments.length - 1 : compiled.parameters[law.first]!.firstSegment,
    upperEvent: law === null ? -1 : compiled.parameters[law.first]!.event,
  };
}

/** The tangent law, linear or bilinear, of a study whose numbers are free; `find` looks a free number up by its path's end. */
function upperLaw(compiled: CompiledStudy, find: (end: string) => number): UpperLaw | null {
  const a = find('.law.a');
  const b = find('.law.b_per_s');
  if (a >= 0 && b >= 0) {
    return {
      first: a,
      take: (values, start, rate_ps) => {
        values[a] = start;
        values[b] = rate_ps;
      },
    };
  }
  const start = find('.law.startAngle_deg');
  const end = find('.law.endAngle_deg');
  const weight = find('.law.weight');
  if (start < 0 || end < 0) return null;
  const { action } = compiled.study.sequence.events[compiled.parameters[start]!.event]!;
  if (action.kind !== 'steer' || action.law.kind !== 'bilinearTangent') return null;
  const { span_s } = action.law;
  return {
    first: start,
    // The bilinear law that is the linear one.
    take: (values, tangent, rate_ps) => {
      values[start] = Math.atan(tangent);
      values[end] = Math.atan(tangent + rate_ps * span_s);
      if (weight >= 0) values[weight] = Math.cos(values[start]) / Math.cos(values[end]);
    },
  };
}

/**
 * Sets the kick so that the inertial flight-path angle at the start of the upper law is `angle_rad`, or as near as the
 * booster can; false when no kick brings it there in flight.
 */
function bisectKick(engine: FlightEngine, values: Float64Array, roles: Roles, angle_rad: number): boolean {
  const { parameters } = engine.compiled;
  const kick = parameters[roles.kick]!;
  const angleAt = (value: number): number => {
    values[roles.kick] = value;
    const code = isFlownFirst(engine.compiled)
      ? engine.fly(values, Number.POSITIVE_INFINITY, roles.upperEvent)
      : engine.fly(values, roles.upperSegment);
    if (code !== 'flown') return -Math.PI / 2;
    const y = isFlownFirst(engine.compiled)
      ? engine.reached < engine.plan.segments.length
        ? engine.stateAt(engine.reached)
        : engine.end
      : engine.stateAt(roles.upperSegment);
    const climb = (y[0]! * y[3]! + y[1]! * y[4]! + y[2]! * y[5]!) / Math.hypot(y[0]!, y[1]!, y[2]!);
    return Math.asin(climb / Math.hypot(y[3]!, y[4]!, y[5]!));
  };
  let steep = SMALL_KICKS_rad[0]!;
  let steepest = angleAt(steep);
  // Steering fixed in space falls behind the turning vertical, so that the least kick may lean backwards.
  for (let i = 1; i < SMALL_KICKS_rad.length && steepest <= angle_rad; i++) {
    const angle = angleAt(SMALL_KICKS_rad[i]!);
    if (angle <= steepest) continue;
    steepest = angle;
    steep = SMALL_KICKS_rad[i]!;
  }
  if (steepest <= angle_rad) return angleAt(steep) > 0;
  let shallow = kick.upper;
  for (let i = 0; i < 24 && shallow - steep > 1e-6; i++) {
    const middle = i < 4 ? Math.sqrt(steep * shallow) : 0.5 * (steep + shallow);
    const angle = angleAt(middle);
    if (Math.abs(angle - angle_rad) < 1e-3) return true;
    if (angle > angle_rad) steep = middle;
    else shallow = middle;
  }
  return angleAt(steep) > 0;
}

/** Closes the orbit with the free numbers given, the others held (SI, radians). Null when the start does not fly. */
export function close(
  engine: FlightEngine,
  free: readonly number[],
  values: Float64Array,
  stop: () => boolean,
): ColdStart | null {
  const problem = new PayloadProblem(engine, free, values);
  if (problem.variableCount < problem.equalityCount) return null;
  const solver = new SqpSolver(problem.variableCount, problem.equalityCount, problem.inequalityCount);
  const result = solver.solve(problem, problem.variables(), {
    feasibilityTolerance: 1e-4,
    optimalityTolerance: 1e-2,
    maxIterations: 25,
    stop,
  });
  if (result.stop === 'startInvalid' || result.stop === 'cancelled') return null;
  problem.adopt(result.x);
  return { values: problem.values, feasible: result.feasibility < 1e-3 };
}
