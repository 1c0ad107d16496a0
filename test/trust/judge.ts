/**
 * What becomes of a vehicle that is solved from cold, and whether that holds: an optimum is flown again more finely and
 * attacked from perturbed starts; "cannot reach orbit" is put to a search over the kick that owes nothing to the solver.
 */
import { compileStudy, type CompiledStudy } from '../../core/flight/compile.ts';
import { recordFlight } from '../../core/flight/record.ts';
import { solvePayload, type PayloadOutcome } from '../../core/solve/payload.ts';
import { checkByRestarts } from '../../core/solve/restarts.ts';
import { OrbitTarget } from '../../core/solve/target.ts';
import { searchOrbit } from './search.ts';
import { randomStudy } from './vehicles.ts';

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
      const { better } = checkByRestarts({ asked: compiled, outcome }, RESTARTS, seed + 1_000_000);
      return better === null
        ? told('optimum', '')
        : told('false optimum: improved', `a restart came to ${better.payload_kg.toFixed(3)} kg`);
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
