/** What is said of a row of times, and how rows that are to be compared are measured. */

/** Times in ms. */
export interface Times {
  readonly median_ms: number;
  readonly min_ms: number;
  readonly repetitions: number;
}

/** The middle of a row of numbers, any unit; of an even number of them the mean of the two in the middle. */
function median(numbers: readonly number[]): number {
  if (numbers.length === 0) throw new RangeError('median: received no numbers, at least one is needed');
  const sorted = [...numbers].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : 0.5 * (sorted[middle - 1]! + sorted[middle]!);
}

export function summarise(times_ms: readonly number[]): Times {
  return { median_ms: median(times_ms), min_ms: Math.min(...times_ms), repetitions: times_ms.length };
}

/** One row to measure. `run` returns the time of each of its repetitions, ms. */
export interface Contender {
  readonly name: string;
  readonly run: () => number[] | Promise<number[]>;
}

/** Rounds before anything counts: engines compile what runs hot, in stages, and on a busy machine late. */
const LEAST_WARM_UPS = 8;
const MOST_WARM_UPS = 100;
/** Warm is what has not become faster by this share for so many rounds. */
const STILL_WARMING = 0.03;
const STEADY_ROUNDS = 6;

/**
 * Runs all contenders in turn, round after round, so that what slows the machine for a while slows them all. Rounds count
 * once no contender gets faster any more. Returns each contender's times, ms, round by round.
 */
export async function interleave(
  contenders: readonly Contender[],
  rounds: number,
): Promise<Map<string, number[][]>> {
  const fastest = new Map<string, number>();
  for (let round = 0, steady = 0; round < MOST_WARM_UPS; round++) {
    let faster = false;
    for (const { name, run } of contenders) {
      const shortest = Math.min(...(await run()));
      const before = fastest.get(name) ?? Infinity;
      if (shortest < (1 - STILL_WARMING) * before) faster = true;
      fastest.set(name, Math.min(before, shortest));
    }
    steady = faster ? 0 : steady + 1;
    if (round + 1 >= LEAST_WARM_UPS && steady >= STEADY_ROUNDS) break;
  }
  const times = new Map(contenders.map(({ name }) => [name, [] as number[][]]));
  for (let round = 0; round < rounds; round++) {
    for (const { name, run } of contenders) times.get(name)!.push(await run());
  }
  return times;
}

/**
 * How many times longer `of` takes than `to`: the median over the rounds of the ratio of the two rounds' medians, and the
 * ratio of the shortest times of all. Dimensionless.
 */
export function ratio(of: number[][], to: number[][]): { median: number; min: number } {
  return {
    median: median(of.map((row, round) => median(row) / median(to[round]!))),
    min: Math.min(...of.flat()) / Math.min(...to.flat()),
  };
}

/** Times `count` calls one by one, ms. */
export function timeEach(count: number, call: () => void): number[] {
  return Array.from({ length: count }, () => {
    const before = performance.now();
    call();
    return performance.now() - before;
  });
}
