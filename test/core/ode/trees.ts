/**
 * Rooted trees and the order conditions that belong to them. Source: J. C. Butcher's theory as in E. Hairer,
 * S. P. Nørsett, G. Wanner, Solving Ordinary Differential Equations I, 2nd ed., section II.2, theorem 2.13: a method has
 * order p when Σ b_i Φ_i(τ) = 1/γ(τ) for every tree τ of at most p vertices.
 */

export interface Tree {
  readonly vertices: number;
  /** Density: the number of vertices times the densities of the branches. */
  readonly gamma: number;
  readonly branches: readonly Tree[];
}

/** All rooted trees of each number of vertices up to `most`; entry k holds those of k vertices. */
export function rootedTrees(most: number): readonly (readonly Tree[])[] {
  const all: Tree[][] = [[], [{ vertices: 1, gamma: 1, branches: [] }]];
  for (let vertices = 2; vertices <= most; vertices++) {
    const smaller = all.flat();
    const found: Tree[] = [];
    const grow = (from: number, left: number, branches: readonly Tree[]): void => {
      if (left === 0) {
        const gamma = branches.reduce((product, branch) => product * branch.gamma, vertices);
        found.push({ vertices, gamma, branches });
        return;
      }
      for (let i = from; i < smaller.length; i++) {
        const branch = smaller[i]!;
        if (branch.vertices <= left) grow(i, left - branch.vertices, [...branches, branch]);
      }
    };
    grow(0, vertices - 1, []);
    all.push(found);
  }
  return all;
}

/** The elementary weights Φ_i of a tree, one a stage. */
export function elementaryWeights(tree: Tree, a: readonly (readonly number[])[]): number[] {
  const ofBranches = tree.branches.map((branch) => elementaryWeights(branch, a));
  return a.map((row) =>
    ofBranches.reduce(
      (product, weights) => product * row.reduce((sum, aij, j) => sum + aij * weights[j]!, 0),
      1,
    ),
  );
}
