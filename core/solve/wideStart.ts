/**
 * Starts for a solve whose cold start came to nothing: a coarse search over kick, payload and upper law, the flights that
 * come nearest to the orbit closed on it. Also for vehicles that cannot do it, with the payload negative.
 */
import { PAYLOAD } from '../flight/compile.ts';
import type { FlightEngine } from '../flight/engine.ts';
import { payloadForIdealVelocity_kg, thrustMoments } from './budget.ts';
import { close, findRoles, isFlownFirst, type ColdStart } from './coldStart.ts';
import { guessLinearTangent } from './guidance.ts';
import { leastPayload_kg } from './payloadProblem.ts';
import { OrbitTarget } from './target.ts';

/** Kicks, rad: each 1.7 times the one before; the largest is 23°. */
const KICKS_rad = [2e-4, 7e-4, ...Array.from({ length: 11 }, (_, i) => 2e-3 * 1.7 ** i)];
/** Losses of the upper burn to reckon with, m/s. */
const LOSSES_mps = [0, 300, 1500];
/** Tangents at the start and the end of the upper law, beside the one that guidance would fly. */
const TANGENTS = [
  [0.2, -0.1],
  [0.6, -0.3],
  [1.2, -0.6],
  [2.5, -1],
  [0.5, 0.2],
  [2, 1],
  [4, -1],
  [6, 2],
  [20, 20],
] as const;

export interface WideSearch {
  /** Those that meet the orbit with most payload first. */
  readonly starts: readonly ColdStart[];
  /** Whether any flight came to insertion. */
  readonly anyFlown: boolean;
  /** Whether all flights that did not came down to the ground. */
  readonly allFell: boolean;
}

interface Candidate {
  readonly values: Float64Array;
  /** Size of the target's residuals. */
  readonly miss: number;
}

/**
 * Searches over the free parameters `free`, for starts: at most one for each of the
 * `most` kicks whose flights came nearest. Values in SI and radians.
 */
export function wideStarts(
  engine: FlightEngine,
  free: readonly number[],
  base: Float64Array,
  most: number,
  stop: () => boolean = () => false,
): WideSearch {
  const roles = findRoles(engine.compiled, free);
  const best: Candidate[] = [];
  let allFell = true;
  for (let i = 0; i < (roles.kick < 0 ? 1 : KICKS_rad.length) && !stop(); i++) {
    const values = Float64Array.from(base);
    if (roles.kick >= 0) values[roles.kick] = KICKS_rad[i]!;
    const nearest = nearestFlight(engine, free, values, () => (allFell &&= engine.status.code === 'impact'));
    if (nearest !== null) best.push(nearest);
  }
  best.sort((p, q) => p.miss - q.miss);
  const starts: ColdStart[] = [];
  for (const { values } of best) {
    if (stop() || starts.length >= most) break;
    const closed = close(
      engine,
      free.filter((p) => p !== roles.kick),
      values,
      stop,
    );
    starts.push(closed?.feasible === true ? closed : { values, feasible: false });
  }
  starts.sort((p, q) => Number(q.feasible) - Number(p.feasible) || q.values[PAYLOAD]! - p.values[PAYLOAD]!);
  return { starts, anyFlown: best.length > 0, allFell };
}

/** Of the flights with one kick, the one that comes nearest to the orbit; null when none comes to insertion. */
function nearestFlight(
  engine: FlightEngine,
  free: readonly number[],
  values: Float64Array,
  failed: () => void,
): Candidate | null {
  const { compiled } = engine;
  const { law, upperSegment, upperEvent } = findRoles(compiled, free);
  const carries = free.includes(PAYLOAD);
  const target = new OrbitTarget(compiled.study.target, compiled.earth);
  const out = new Float64Array(target.count);
  const mostPayload = compiled.parameters[PAYLOAD]!.upper;
  const leastPayload = leastPayload_kg(compiled);
  let nearest: Candidate | null = null;
  const tryOut = (): void => {
    if (engine.fly(values) !== 'flown') return failed();
    target.residuals(engine.end, out);
    const miss = Math.hypot(...out);
    if (nearest === null || miss < nearest.miss) nearest = { values: Float64Array.from(values), miss };
  };
  if (carries) values[PAYLOAD] = 0;
  // What waits for where the vehicle is is planned only as it is flown.
  const code = isFlownFirst(compiled)
    ? engine.fly(values, Number.POSITIVE_INFINITY, upperEvent)
    : engine.fly(values, upperSegment);
  const { segments } = engine.plan;
  const upper = isFlownFirst(compiled) ? Math.min(engine.reached, segments.length - 1) : upperSegment;
  if (code !== 'flown') {
    failed();
    return null;
  }
  const state = Float64Array.from(engine.stateAt(upper));
  const r = Math.hypot(state[0]!, state[1]!, state[2]!);
  const climb = (state[0]! * state[3]! + state[1]! * state[4]! + state[2]! * state[5]!) / r;
  const across = Math.sqrt(Math.max(0, state[3]! ** 2 + state[4]! ** 2 + state[5]! ** 2 - climb * climb));
  for (const losses of LOSSES_mps) {
    const wanting = target.speed_mps - across + losses;
    if (carries) {
      values[PAYLOAD] =
        losses === 0 ? 0 : payloadForIdealVelocity_kg(segments, upper, wanting, mostPayload, leastPayload);
    }
    if (law === null) {
      tryOut();
      continue;
    }
    const moments = thrustMoments(segments, upper, values[PAYLOAD]!);
    const guess = guessLinearTangent(state, moments, target.radius_m, target.speed_mps, target.gm_m3ps2);
    law.take(values, guess.a, guess.b_ps);
    tryOut();
    for (const [start, end] of TANGENTS) {
      law.take(values, start, (end - start) / moments.time_s);
      tryOut();
    }
  }
  return nearest;
}
