/** How finely a problem is integrated. */

export interface Tolerances {
  /** Relative error allowed a step, dimensionless. */
  readonly relative: number;
  /** Absolute error allowed a step, one number a component, in the component's unit. */
  readonly absolute: Float64Array;
  /** Longest step, in the unit of time. */
  readonly longestStep: number;
  /** Most steps between two calls of `start`. */
  readonly mostSteps: number;
}

/**
 * Throws RangeError, naming the entry, when tolerances do not fit a system's dimension or are not positive (the relative
 * one may be zero, absolute ones and the longest step infinite). Unitless.
 */
export function checkTolerances(dimension: number, tolerances: Tolerances): void {
  const { relative, absolute, longestStep, mostSteps } = tolerances;
  if (absolute.length !== dimension) {
    throw new RangeError(
      `Driver: tolerances.absolute has ${absolute.length} entries, the system has ${dimension} components`,
    );
  }
  const refuse = (name: string, value: number, allowed: string): never => {
    throw new RangeError(`Driver: tolerances.${name} is ${value}; it must be ${allowed}`);
  };
  if (!(relative >= 0 && relative < Number.POSITIVE_INFINITY))
    refuse('relative', relative, 'zero or positive, finite');
  absolute.forEach((value, i) => {
    if (!(value > 0)) refuse(`absolute[${i}]`, value, 'positive');
  });
  if (!(longestStep > 0)) refuse('longestStep', longestStep, 'positive');
  if (!(mostSteps > 0)) refuse('mostSteps', mostSteps, 'positive');
}
