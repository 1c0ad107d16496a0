/** Computations in steps, worked through where nobody waits between them. */

/** What a computation comes to when it is worked through without a pause; in its own units. */
export function finish<Result>(steps: Iterator<unknown, Result>): Result {
  for (;;) {
    const step = steps.next();
    if (step.done === true) return step.value;
  }
}
