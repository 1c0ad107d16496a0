import { expect } from 'vitest';

/**
 * Gathers the deviations of one check, prints the worst with its tolerance, and asserts it. Use one for each
 * quantity: add() every comparison, then report().
 */
export class Worst {
  private worst = -1;
  private where = 'nothing compared';
  private count = 0;
  private readonly what: string;
  private readonly unit: string;
  private readonly tolerance: number;

  constructor(what: string, unit: string, tolerance: number) {
    this.what = what;
    this.unit = unit;
    this.tolerance = tolerance;
  }

  /** Adds a deviation; its sign does not matter. A value that is not a number counts as infinitely wrong. */
  add(label: string | number, deviation: number): void {
    const size = Number.isNaN(deviation) ? Infinity : Math.abs(deviation);
    this.count++;
    if (size > this.worst) {
      this.worst = size;
      this.where = String(label);
    }
  }

  /** Prints one line and fails when the worst exceeds the tolerance or nothing was compared. */
  report(): number {
    const line = `${this.what}: worst ${this.worst.toPrecision(3)} ${this.unit} at ${this.where}`;
    console.log(`${line} (${this.count} compared, tolerance ${this.tolerance.toPrecision(3)})`);
    expect(this.count, `${this.what}: nothing was compared`).toBeGreaterThan(0);
    expect(this.worst, line).toBeLessThanOrEqual(this.tolerance);
    return this.worst;
  }
}

/** One unit in the last printed digit of a number given as printed: '3.6392e-1' has 1e-5. */
export function lastDigit(printed: string): number {
  const [mantissa, exponent] = printed.toLowerCase().split('e');
  const decimals = mantissa!.split('.')[1]?.length ?? 0;
  return 10 ** (Number(exponent ?? '0') - decimals);
}
