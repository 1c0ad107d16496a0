/**
 * What becomes of a vehicle that is solved from cold, and whether that holds: an optimum is flown again more finely and
 * attacked from perturbed starts; "cannot reach orbit" is put to a search over the kick that owes nothing to the solver.
 */
import { compileStudy, PAYLOAD, type CompiledStudy } from '../../core/flight/compile.ts';
import { FlightEngine } from '../../core/flight/engine.ts';
import { recordFlight } from '../../core/flight/record.ts';
import { solvePayload, type PayloadOutcome } from '../../core/solve/payload.ts';
import { OrbitTarget } from '../../core/solve/target.ts';
import { searchOrbit } from './search.ts';
import { Draw, randomStudy } from './vehicles.ts';

export type Verdict =
  | 'optimum'
  | 'infeasible'
  | 'not solved'
  /** The finer flight misses the orbit. */
  | 'false optimum: not closed'
  /** A perturbed start found more payload. */
  | 'false optimum: improved'
  /** The search found a flight. */
  | 'false infeasible';

export interface Judgement {
  readonly seed: number;
  readonly verdict: Verdict;
  readonly status: PayloadOutcome['status'];
  readonly payload_kg: number;
  /** What a restart or the search found, or why nothing was solved. */
  readonly detail: string;
  readonly flights: number;
}

const CLOSED_m = 1;
const CLOSED_mps = 0.01;
const IMPROVED_kg = 0.1;
const RESTARTS = 10;

/** Solves the vehicle of a seed from cold and judges the outcome. */
export function judge(seed: number): Judgement {
  const compiled = compileStudy(randomStudy(seed));
  const outcome = solvePayload(compiled);
  const told = (verdict: Verdict, detail: string): Judgement => ({
    seed,
    verdict,
    status: outcome.status,
    payload_kg: outcome.payload_kg,
    detail,
    flights: outcome.counts.flights,
  });
  switch (outcome.status) {
    case 'converged': {
      const missed = miss(compiled, outcome);
      if (missed !== null) return told('false optimum: not closed', missed);
      const better_kg = bestRestart_kg(compiled, outcome, seed);
      return better_kg > outcome.payload_kg + IMPROVED_kg
        ? told('false optimum: improved', `a restart came to ${better_kg.toFixed(3)} kg`)
        : told('optimum', '');
    }
    case 'cannotLiftOff':
      return told('false infeasible', 'every vehicle here lifts off empty');
    case 'cannotReachOrbit': {
      const found = searchOrbit(compiled);
      return found === null ? told('infeasible', outcome.message) : told('false infeasible', found);
    }
    default:
      return told('not solved', outcome.message);
  }
}

/** By how much the finer flight misses the circular target, in words; null when it does not. */
function miss(compiled: CompiledStudy, outcome: PayloadOutcome): string | null {
  const record = recordFlight(compiled, outcome.values);
  const end = record.tracks[0]?.steps.end;
  if (record.status.code !== 'flown' || end === undefined) return record.status.message;
  const { orbit } = record;
  const target = new OrbitTarget(compiled.study.target, compiled.earth);
  const size_m = Math.abs(orbit!.semiMajorAxis_m - target.radius_m);
  const shape_m = orbit!.eccentricity * target.radius_m;
  // A speed error Δv changes the axis of a circle by 2 r Δv / v, and a climb Δv its eccentricity by Δv / v.
  const most_m = CLOSED_m + (2 * target.radius_m * CLOSED_mps) / target.speed_mps;
  return size_m < most_m && shape_m < most_m
    ? null
    : `the finer flight's semi-major axis is off by ${size_m.toFixed(2)} m, the focus by ${shape_m.toFixed(2)} m`;
}

/**
 * Angular momentum at insertion, m²/s. A launch to the west may pay less than one straight up that the upper law then
 * turns to the east: that is another flight than the azimuth asks for, and no improvement of this one.
 */
function momentum(engine: FlightEngine, values: Float64Array): readonly [number, number, number] {
  engine.fly(values);
  const [x, y, z, vx, vy, vz] = engine.end as unknown as [number, number, number, number, number, number];
  return [y * vz - z * vy, z * vx - x * vz, x * vy - y * vx];
}

/** The most that restarts from around the answer come to on flights the same way round, kg. */
function bestRestart_kg(compiled: CompiledStudy, outcome: PayloadOutcome, seed: number): number {
  const draw = new Draw(seed + 1_000_000);
  const engine = new FlightEngine(compiled);
  const way = momentum(engine, outcome.values);
  let best_kg = -Infinity;
  for (let i = 0; i < RESTARTS; i++) {
    const values = Float64Array.from(outcome.values);
    for (const p of outcome.free) {
      const { lower, upper, scale } = compiled.parameters[p]!;
      const share = p === PAYLOAD ? draw.between([0.7, 1.02]) : draw.between([0.7, 1.3]);
      const shift = p === PAYLOAD ? 0 : draw.between([-0.1, 0.1]) * scale;
      values[p] = Math.min(Math.max(values[p]! * share + shift, lower), upper);
    }
    const again = solvePayload(compiled, { values, fromValues: true });
    if (again.status !== 'converged' || !(again.payload_kg > best_kg)) continue;
    const other = momentum(engine, again.values);
    if (way[0] * other[0] + way[1] * other[1] + way[2] * other[2] > 0) best_kg = again.payload_kg;
  }
  return best_kg;
}
