import { derivative, parse, type EvalFunction, type MathNode } from 'mathjs';
import type { NlpProblem } from '../../../core/nlp/problem.ts';

/** A problem as the data files state it: expressions in x1, x2, …; null for no bound; a list is the sum of its terms. */
export interface ExpressionStatement {
  objective: string | string[];
  equalities: string[];
  inequalities: string[];
  lower: (number | null)[];
  upper: (number | null)[];
}

interface CompiledSum {
  values: EvalFunction[];
  /** Per variable, the slopes of the terms that it occurs in. */
  slopes: EvalFunction[][];
}

function compileSum(terms: string[], names: string[]): CompiledSum {
  const nodes = terms.map((term) => parse(term));
  const mentions = (node: MathNode, name: string): boolean =>
    node.filter((part) => part.type === 'SymbolNode' && part.toString() === name).length > 0;
  return {
    values: nodes.map((node) => node.compile()),
    slopes: names.map((name) =>
      nodes
        .filter((node) => mentions(node, name))
        .map((node) => derivative(node, name, { simplify: false }).compile()),
    ),
  };
}

/**
 * An NlpProblem from written expressions. Derivatives are symbolic (mathjs), so they share nothing with the solver or with
 * its difference checker.
 */
export function expressionProblem(statement: ExpressionStatement): NlpProblem {
  const n = statement.lower.length;
  const names = Array.from({ length: n }, (_, i) => `x${i + 1}`);
  const objective = compileSum([statement.objective].flat(), names);
  const constraints = [...statement.equalities, ...statement.inequalities].map((row) =>
    compileSum([row], names),
  );
  const scopeOf = (x: Float64Array): Record<string, number> =>
    Object.fromEntries(names.map((name, i) => [name, x[i]!]));
  // A complex value (a root of a negative number) is no value.
  const sum = (parts: EvalFunction[], scope: Record<string, number>): number =>
    parts.reduce((total, part) => {
      const value: unknown = part.evaluate(scope);
      return total + (typeof value === 'number' ? value : NaN);
    }, 0);
  return {
    variableCount: n,
    equalityCount: statement.equalities.length,
    inequalityCount: statement.inequalities.length,
    lower: Float64Array.from(statement.lower, (value) => value ?? -Infinity),
    upper: Float64Array.from(statement.upper, (value) => value ?? Infinity),
    evaluate(x, out) {
      const scope = scopeOf(x);
      constraints.forEach((row, i) => (out[i] = sum(row.values, scope)));
      return sum(objective.values, scope);
    },
    differentiate(x, gradient, jacobian) {
      const scope = scopeOf(x);
      objective.slopes.forEach((parts, j) => (gradient[j] = sum(parts, scope)));
      constraints.forEach((row, i) =>
        row.slopes.forEach((parts, j) => (jacobian[i * n + j] = sum(parts, scope))),
      );
      return true;
    },
  };
}
