/** What is used of the library, which comes without types. */
declare module 'nlopt-js' {
  export type Objective = (x: Float64Array, gradient: Float64Array | null) => number;

  const nlopt: {
    readonly ready: Promise<void>;
    readonly Algorithm: { readonly LD_SLSQP: unknown };
    readonly GC: { flush(): void };
    readonly Optimize: new (
      algorithm: unknown,
      n: number,
    ) => {
      setMinObjective(f: Objective, tolerance: number): void;
      addInequalityConstraint(f: Objective, tolerance: number): void;
      addEqualityConstraint(f: Objective, tolerance: number): void;
      setLowerBounds(bounds: readonly number[]): void;
      setUpperBounds(bounds: readonly number[]): void;
      setMaxeval(count: number): void;
      optimize(start: readonly number[]): { success: boolean; x: number[]; value: number };
    };
  };
  export default nlopt;
}
