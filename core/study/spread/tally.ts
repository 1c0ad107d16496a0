/** What is kept of a spread's members: sums, histograms and failures, in memory that does not grow with their number. */
import { DyadicSums } from './dyadic.ts';
import type { SpreadHeader } from './header.ts';
import { drawCount } from './header.ts';
import type { MemberBatch, MemberFailure } from './members.ts';

/** Members of a block whose mean stands for one estimate of the mean: 2 to this power. */
const BLOCK_LEVEL = 6;
/** Bins of a histogram. */
export const BINS = 4096;
/** Failures that are kept with their sentence, those of the first members; all are counted. */
export const MOST_LISTED = 200;

/** Where the parts of a node's sums stand. */
export class SumLayout {
  readonly quantities: number;
  readonly inputs: number;
  readonly length: number;

  constructor(header: SpreadHeader) {
    this.quantities = header.quantities.length;
    this.inputs = header.indices ? header.inputs.length : 0;
    this.length = this.pairs(this.quantities);
  }

  /** An index, unitless. Solved members at 0; then of quantity q: sum, sum of squares (both from the nominal value), least, most. */
  moments = (q: number): number => 1 + 4 * q;
  /** An index, unitless. Of quantity q the sum and the sum of squares of the blocks' means. */
  blocks = (q: number): number => this.moments(this.quantities) + 1 + 2 * q;
  /** Index of the number of blocks, unitless. */
  get blockCount(): number {
    return this.moments(this.quantities);
  }
  /** Index of the number of members with all draws solved, unitless. */
  get pairCount(): number {
    return this.blocks(this.quantities);
  }
  /** An index, unitless. Of quantity q: sum and sum of squares over the draws A and B; then of each input Σ(B − ABᵢ)² and Σ(A − ABᵢ)². */
  pairs = (q: number): number => this.pairCount + 1 + q * (2 + 2 * this.inputs);
}

/** Tallies members of one spread. Quantities in their own units. */
export class SpreadTally {
  readonly layout: SumLayout;
  readonly sums: DyadicSums;
  /** By quantity: below the lowest edge, the bins, above the highest. */
  readonly histograms: Float64Array[];
  readonly failureCounts = new Map<string, number>();
  failures: MemberFailure[] = [];

  constructor(readonly header: SpreadHeader) {
    this.layout = new SumLayout(header);
    this.sums = new DyadicSums((left, right, level) => this.join(left, right, level));
    this.histograms = header.quantities.map(() => new Float64Array(BINS + 2));
  }

  /** Takes solved members in, in any order. Throws RangeError when some are in already. Payloads in kg. */
  add(batch: MemberBatch): void {
    const { cases } = this.header;
    const size = drawCount(this.header) * cases.length;
    for (let member = batch.from; member < batch.to; member++) {
      const at = (member - batch.from) * size;
      this.addMember(member, batch.payloads_kg.subarray(at, at + size));
    }
    for (const failure of batch.failures) {
      this.failureCounts.set(failure.status, (this.failureCounts.get(failure.status) ?? 0) + 1);
    }
    this.listFailures(batch.failures);
  }

  /** Keeps those of the first members, so that what is kept does not depend on the order in which they came. */
  listFailures(failures: readonly MemberFailure[]): void {
    if (failures.length === 0) return;
    this.failures = [...this.failures, ...failures]
      .sort((p, q) => p.member - q.member || p.draw - q.draw || p.case - q.case)
      .slice(0, MOST_LISTED);
  }

  private addMember(member: number, payloads_kg: Float64Array): void {
    const { header, layout } = this;
    const n = header.cases.length;
    const draws = drawCount(header);
    const sums = new Array<number>(layout.length).fill(0);
    const value = (q: number, draw: number): number => {
      const { weights, over } = header.quantities[q]!;
      let sum = 0;
      for (let c = 0; c < n; c++) sum += weights[c]! * payloads_kg[draw * n + c]!;
      return over < 0 ? sum : sum / payloads_kg[draw * n + over]!;
    };
    // A member counts only when all its cases have an answer: the differences are of the same members as the payloads.
    const solved = payloads_kg.subarray(0, n).every((payload) => !Number.isNaN(payload));
    if (solved) {
      sums[0] = 1;
      header.quantities.forEach((quantity, q) => {
        const x = value(q, 0);
        const d = x - quantity.nominal;
        const at = layout.moments(q);
        sums[at] = d;
        sums[at + 1] = d * d;
        sums[at + 2] = x;
        sums[at + 3] = x;
        const bin = Math.floor(((x - quantity.low) / (quantity.high - quantity.low)) * BINS);
        const histogram = this.histograms[q]!;
        const slot = bin < 0 ? 0 : bin >= BINS ? BINS + 1 : bin + 1;
        histogram[slot] = histogram[slot]! + 1;
      });
    }
    if (header.indices && payloads_kg.every((payload) => !Number.isNaN(payload))) {
      sums[layout.pairCount] = 1;
      header.quantities.forEach((quantity, q) => {
        const at = layout.pairs(q);
        const a = value(q, 0) - quantity.nominal;
        const b = value(q, 1) - quantity.nominal;
        sums[at] = a + b;
        sums[at + 1] = a * a + b * b;
        for (let i = 0; i < draws - 2; i++) {
          const ab = value(q, i + 2) - quantity.nominal;
          sums[at + 2 + 2 * i] = (b - ab) * (b - ab);
          sums[at + 3 + 2 * i] = (a - ab) * (a - ab);
        }
      });
    }
    this.sums.add({ level: 0, index: member, sums });
  }

  private join(left: readonly number[], right: readonly number[], level: number): number[] {
    const { layout } = this;
    const sums = left.map((value, i) => value + right[i]!);
    for (let q = 0; q < layout.quantities; q++) {
      const at = layout.moments(q);
      const both = left[0]! > 0 && right[0]! > 0;
      const some = left[0]! > 0 ? left : right;
      sums[at + 2] = both ? Math.min(left[at + 2]!, right[at + 2]!) : some[at + 2]!;
      sums[at + 3] = both ? Math.max(left[at + 3]!, right[at + 3]!) : some[at + 3]!;
    }
    if (level === BLOCK_LEVEL && sums[0]! > 0) {
      sums[layout.blockCount] = 1;
      for (let q = 0; q < layout.quantities; q++) {
        const mean = sums[layout.moments(q)]! / sums[0]!;
        sums[layout.blocks(q)] = mean;
        sums[layout.blocks(q) + 1] = mean * mean;
      }
    }
    return sums;
  }
}
