/**
 * Sums over members that come out the same to the bit however the members were cut into slices and in whatever order they
 * came: members are the leaves of a binary tree over their indices, two neighbours of one parent are added as soon as both
 * are there, and what is left over is added from left to right. Memory grows with the logarithm of the members.
 */

/** A complete block: the members from index·2^level to before (index + 1)·2^level. */
export interface Node {
  readonly level: number;
  readonly index: number;
  readonly sums: readonly number[];
}

/** Adds the sums of two blocks that follow each other; `level` is that of the block made, 0 when it is no complete one. */
export type Join = (left: readonly number[], right: readonly number[], level: number) => number[];

/** Blocks of members with their sums, each in its own units; see the top of the file. */
export class DyadicSums {
  /** Of each level, complete blocks by index. */
  private readonly levels: Map<number, readonly number[]>[] = [];

  constructor(private readonly join: Join) {}

  /** Takes a block in. Throws RangeError when some of its members are in already. Indices count from 0. */
  add(node: Node): void {
    for (const { from, to } of this.covered()) {
      const start = node.index * 2 ** node.level;
      if (start < to && start + 2 ** node.level > from)
        throw new RangeError(`members ${start} to ${start + 2 ** node.level - 1} are there already`);
    }
    this.settle(node);
  }

  private settle({ level, index, sums }: Node): void {
    const siblings = this.levelAt(level);
    const sibling = siblings.get(index ^ 1);
    if (sibling === undefined) {
      siblings.set(index, sums);
      return;
    }
    siblings.delete(index ^ 1);
    const [left, right] = (index & 1) === 0 ? [sums, sibling] : [sibling, sums];
    this.settle({ level: level + 1, index: Math.floor(index / 2), sums: this.join(left, right, level + 1) });
  }

  private levelAt(level: number): Map<number, readonly number[]> {
    while (this.levels.length <= level) this.levels.push(new Map());
    return this.levels[level]!;
  }

  /** All blocks in the order of their members; unitless. */
  nodes(): Node[] {
    return this.levels
      .flatMap((blocks, level) => [...blocks].map(([index, sums]) => ({ level, index, sums })))
      .sort((p, q) => p.index * 2 ** p.level - q.index * 2 ** q.level);
  }

  /** The members that are in, as runs from `from` to before `to`, in order; indices count from 0. */
  covered(): { from: number; to: number }[] {
    const runs: { from: number; to: number }[] = [];
    for (const { level, index } of this.nodes()) {
      const from = index * 2 ** level;
      const last = runs[runs.length - 1];
      if (last?.to === from) last.to = from + 2 ** level;
      else runs.push({ from, to: from + 2 ** level });
    }
    return runs;
  }

  /** The sum over all members, or null when there are none. In the sums' own units. */
  total(): readonly number[] | null {
    return this.nodes().reduce<readonly number[] | null>(
      (sum, { sums }) => (sum === null ? sums : this.join(sum, sums, 0)),
      null,
    );
  }
}
