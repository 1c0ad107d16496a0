/** A tally read: band, mean and its error, what has no answer, and what the scatter comes from. */
import type { SpreadHeader } from './header.ts';
import type { MemberFailure } from './members.ts';
import { drawCount } from './header.ts';
import { BINS, type SpreadTally } from './tally.ts';

/** A quantity over the members that are solved, in its unit: kg, or dimensionless for a gain. */
export interface QuantitySummary {
  readonly key: string;
  /** Where nothing varies. */
  readonly nominal: number;
  readonly mean: number;
  /**
   * Standard error of the mean, from the means of blocks of 64 members; NaN below four blocks. Blocks of a scrambled sequence
   * make up for each other's errors, so the true one is smaller.
   */
  readonly errorOfMean: number;
  readonly deviation: number;
  readonly p5: number;
  /** Two thirds of the members lie from `sixth` to `fiveSixths`. */
  readonly sixth: number;
  readonly median: number;
  readonly fiveSixths: number;
  readonly p95: number;
  readonly least: number;
  readonly most: number;
  /** Width of a bin: quantiles are no finer than this. */
  readonly resolution: number;
  /** Members beyond the histogram's edges. */
  readonly outside: number;
  /** Of each input, the share of the variance that it explains to first order, from the slopes alone; adds up to 1. */
  readonly linearShares: readonly number[];
  /** Sobol indices of each input, first order and total; null unless asked for and two members have all draws solved. */
  readonly indices: { readonly first: readonly number[]; readonly total: readonly number[] } | null;
}

export interface SpreadSummary {
  readonly members: number;
  readonly solved: number;
  readonly runs: readonly (readonly [number, number])[];
  /** Draws of a case without an answer, by status. */
  readonly failureCounts: Readonly<Record<string, number>>;
  readonly failures: readonly MemberFailure[];
  /** Solves that were asked of these members. */
  readonly solves: number;
  readonly quantities: readonly QuantitySummary[];
}

/** Reads a tally; each quantity in its own unit. What has too few members is NaN. */
export function summarise(tally: SpreadTally): SpreadSummary {
  const { header, sums } = tally;
  const runs = sums.covered().map(({ from, to }) => [from, to] as const);
  const members = runs.reduce((sum, [from, to]) => sum + to - from, 0);
  const total = sums.total() ?? new Array<number>(tally.layout.length).fill(0);
  return {
    members,
    solved: total[0]!,
    runs,
    failureCounts: Object.fromEntries(tally.failureCounts),
    failures: tally.failures,
    solves: members * drawCount(header) * header.cases.length,
    quantities: header.quantities.map((_, q) => quantityOf(tally, total, q)),
  };
}

function quantityOf(tally: SpreadTally, total: readonly number[], q: number): QuantitySummary {
  const { header, layout } = tally;
  const { key, nominal, low, high } = header.quantities[q]!;
  const n = total[0]!;
  const [sum, squares, least, most] = total.slice(layout.moments(q), layout.moments(q) + 4) as [
    number,
    number,
    number,
    number,
  ];
  const shift = n > 0 ? sum / n : Number.NaN;
  const blocks = total[layout.blockCount]!;
  const [blockSum, blockSquares] = total.slice(layout.blocks(q), layout.blocks(q) + 2) as [number, number];
  const histogram = tally.histograms[q]!;
  const quantile = (share: number): number =>
    n > 0
      ? Math.min(Math.max(quantileOf(histogram, low, high, share * n, least, most), least), most)
      : Number.NaN;
  return {
    key,
    nominal,
    mean: nominal + shift,
    errorOfMean: blocks >= 4 ? Math.sqrt(variance(blocks, blockSum, blockSquares) / blocks) : Number.NaN,
    deviation: n > 1 ? Math.sqrt(variance(n, sum, squares)) : Number.NaN,
    p5: quantile(0.05),
    sixth: quantile(1 / 6),
    median: quantile(0.5),
    fiveSixths: quantile(5 / 6),
    p95: quantile(0.95),
    least: n > 0 ? least : Number.NaN,
    most: n > 0 ? most : Number.NaN,
    resolution: (high - low) / BINS,
    outside: histogram[0]! + histogram[BINS + 1]!,
    linearShares: linearShares(header, q),
    indices: indicesOf(tally, total, q),
  };
}

/** Sample variance from a count, a sum and a sum of squares about the same value. */
function variance(n: number, sum: number, squares: number): number {
  return Math.max(0, (squares - (sum * sum) / n) / (n - 1));
}

/** The value below which `rank` members lie; evenly within a bin, at the extremes beyond the edges. */
function quantileOf(
  histogram: Float64Array,
  low: number,
  high: number,
  rank: number,
  least: number,
  most: number,
): number {
  const width = (high - low) / BINS;
  let before = histogram[0]!;
  if (rank <= before) return least;
  for (let bin = 1; bin <= BINS; bin++) {
    const count = histogram[bin]!;
    if (before + count >= rank) return low + (bin - 1 + (rank - before) / count) * width;
    before += count;
  }
  return most;
}

function linearShares({ inputs, cases, quantities }: SpreadHeader, q: number): number[] {
  const { weights, over } = quantities[q]!;
  const sum = weights.reduce((all, w, c) => all + w * cases[c]!.payload_kg, 0);
  const parts = inputs.map((input, i) => {
    const slope = weights.reduce((all, w, c) => all + w * cases[c]!.slopes[i]!, 0);
    if (over < 0) return (slope * input.deviation) ** 2;
    const whole = cases[over]!;
    return (
      (((slope - (sum / whole.payload_kg) * whole.slopes[i]!) / whole.payload_kg) * input.deviation) ** 2
    );
  });
  const all = parts.reduce((a, b) => a + b, 0);
  return parts.map((part) => (all > 0 ? part / all : 0));
}

/**
 * M. J. W. Jansen, Comput. Phys. Commun. 117 (1999) 35: first order 1 − Σ(B − ABᵢ)²/(2 n V), total Σ(A − ABᵢ)²/(2 n V);
 * ABᵢ is A with input i of B: A. Saltelli et al., Comput. Phys. Commun. 181 (2010) 259.
 */
function indicesOf(
  { header, layout }: SpreadTally,
  total: readonly number[],
  q: number,
): QuantitySummary['indices'] {
  const n = total[layout.pairCount] ?? 0;
  if (!header.indices || n < 2) return null;
  const at = layout.pairs(q);
  const scatter = variance(2 * n, total[at]!, total[at + 1]!);
  const of = (offset: number): number[] =>
    header.inputs.map((_, i) => total[at + offset + 2 * i]! / (2 * n * scatter));
  return { first: of(2).map((share) => 1 - share), total: of(3) };
}
