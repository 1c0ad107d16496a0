/** Restarts of a solve from around its answer: whether another answer lies near that is better. */
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { PAYLOAD, type CompiledStudy } from '../flight/compile.ts';
import { FlightEngine } from '../flight/engine.ts';
import { goalOf } from './goal.ts';
import type { PayloadOutcome } from './outcome.ts';
import { solveAnswer, type StudyAnswer } from './answer.ts';

export interface RestartReport {
  /** Starts tried, and how many of them converged. */
  readonly tried: number;
  readonly converged: number;
  /** How many came to the answer itself, within `RESTARTS_AGREE_kg`. */
  readonly same: number;
  /** How many converged on flights that go round the other way: no improvement of this one. */
  readonly otherWay: number;
  /** The greatest difference of those that came to the same, kg. */
  readonly scatter_kg: number;
  /** By how much the best of them is better than the answer in what the goal makes the most or least of, kg; 0 when none is. */
  readonly better_kg: number;
  /** The best of them, when it is better by more than `RESTARTS_AGREE_kg`. */
  readonly better: PayloadOutcome | null;
  readonly flights: number;
}

/** Answers nearer to each other than this are the same, kg: a solve's payload is good to grams. */
export const RESTARTS_AGREE_kg = 0.1;

/** Shares of the answer's values that starts have: the payload's and all others', and a shift in units of their scale. */
const PAYLOAD_SHARE = [0.7, 1.02] as const;
const SHARE = [0.7, 1.3] as const;
const SHIFT = [-0.1, 0.1] as const;

/**
 * Solves again from starts drawn around a converged answer (SI, radians), all free numbers of the ascent at once, and what is
 * kept for a return that was solved with it; that return's own numbers start where they were. The same seed gives the same
 * starts. Flights that go round the other way than the answer's do not count: a launch to the west may pay less than one
 * straight up that the upper law then turns to the east, but that is not the flight that the azimuth asks for.
 * `stop` is asked before each start. Throws RangeError for an outcome that is not converged.
 */
export function checkByRestarts(
  { asked: compiled, outcome }: Pick<StudyAnswer, 'asked' | 'outcome'>,
  count: number,
  seed: number,
  stop: () => boolean = () => false,
): RestartReport {
  if (outcome.status !== 'converged')
    throw new RangeError(`outcome: received one that is ${outcome.status}, allowed is a converged one`);
  const generator = xoroshiro128plus(seed);
  const between = ([low, high]: readonly [number, number]): number =>
    low + (high - low) * uniformFloat64(generator);
  const engine = new FlightEngine(compiled);
  const memory = outcome.memory!;
  const way = momentum(engine, memory.values);
  const report = { tried: 0, converged: 0, same: 0, otherWay: 0, scatter_kg: 0, flights: 0 };
  let better_kg = 0;
  let better: PayloadOutcome | null = null;
  for (let i = 0; i < count && !stop(); i++) {
    const values = Float64Array.from(memory.values);
    for (const p of memory.free) {
      const { lower, upper, scale } = compiled.parameters[p]!;
      const share = between(p === PAYLOAD ? PAYLOAD_SHARE : SHARE);
      const shift = p === PAYLOAD ? 0 : between(SHIFT) * scale;
      values[p] = Math.min(Math.max(values[p]! * share + shift, lower), upper);
    }
    const again = solveAnswer(compiled, { memory, values, fromValues: true, stop }).outcome;
    report.tried += 1;
    report.flights += again.counts.flights + again.counts.reflights;
    if (again.memory === null) continue;
    report.converged += 1;
    const other = momentum(engine, again.memory.values);
    if (!(way[0] * other[0] + way[1] * other[1] + way[2] * other[2] > 0)) {
      report.otherWay += 1;
      continue;
    }
    const gain_kg = gain(compiled, outcome, again);
    if (Math.abs(gain_kg) < RESTARTS_AGREE_kg) {
      report.same += 1;
      report.scatter_kg = Math.max(report.scatter_kg, Math.abs(gain_kg));
    } else if (gain_kg > better_kg) {
      better_kg = gain_kg;
      better = again;
    }
  }
  return { ...report, better_kg, better };
}

/** What another answer makes more (or, where the least is sought, less) of than this one, kg. */
function gain(compiled: CompiledStudy, one: PayloadOutcome, other: PayloadOutcome): number {
  switch (goalOf(compiled)) {
    case 'mostPayload':
      return other.payload_kg - one.payload_kg;
    case 'mostFinalMass':
      return other.finalMass_kg - one.finalMass_kg;
    case 'leastPropellant':
      return one.propellant_kg - other.propellant_kg;
  }
}

/** Angular momentum at insertion, inertial, m²/s. */
function momentum(engine: FlightEngine, values: Float64Array): readonly [number, number, number] {
  engine.fly(values);
  const [x, y, z, vx, vy, vz] = engine.end as unknown as [number, number, number, number, number, number];
  return [y * vz - z * vy, z * vx - x * vz, x * vy - y * vx];
}
