/**
 * How an engine comes up and goes down: a fraction of its commanded thrust against time, linear between points.
 *
 * The fraction scales vacuum thrust, flow and exit area alike, so a barely burning engine is not pushed backwards by
 * the air; the throttle, which is not part of this, leaves the exit area alone (back-pressure does not throttle).
 */

/** A start or a stop: nothing happens for `delay_s` after the command, then a linear change over `ramp_s`. */
export interface TransientShape {
  readonly delay_s: number;
  readonly ramp_s: number;
}

/** Fraction of full burning, piecewise linear in mission time; constant before the first and after the last point. */
export class Transient {
  private readonly times_s: number[];
  private readonly values: number[];

  constructor(times_s: readonly number[] = [], values: readonly number[] = []) {
    this.times_s = [...times_s];
    this.values = [...values];
  }

  /** An independent copy, made where a group splits. Unitless. */
  clone(): Transient {
    return new Transient(this.times_s, this.values);
  }

  /** Burning fraction at mission time t_s; at a jump the value after it. 0 to 1. */
  at(t_s: number): number {
    const { times_s, values } = this;
    const n = times_s.length;
    if (n === 0 || t_s < times_s[0]!) return n === 0 ? 0 : values[0]!;
    for (let i = n - 1; i >= 0; i--) {
      const t0 = times_s[i]!;
      if (t_s < t0) continue;
      if (i === n - 1) return values[i]!;
      const t1 = times_s[i + 1]!;
      return values[i]! + ((values[i + 1]! - values[i]!) * (t_s - t0)) / (t1 - t0);
    }
    return 0;
  }

  /** Rate of the burning fraction just after mission time t_s, 1/s. */
  rateAfter_ps(t_s: number): number {
    const { times_s, values } = this;
    for (let i = times_s.length - 2; i >= 0; i--) {
      const t0 = times_s[i]!;
      const t1 = times_s[i + 1]!;
      if (t_s >= t0 && t_s < t1) return (values[i + 1]! - values[i]!) / (t1 - t0);
    }
    return 0;
  }

  /** The next mission time after t_s at which the rate jumps; +Infinity when there is none. Seconds. */
  nextBreak_s(t_s: number): number {
    for (const time of this.times_s) if (time > t_s) return time;
    return Number.POSITIVE_INFINITY;
  }

  /** Integral of the burning fraction from t0_s to t1_s, in seconds of full burning. */
  integral_s(t0_s: number, t1_s: number): number {
    let sum = 0;
    let t = t0_s;
    while (t < t1_s) {
      const end = Math.min(this.nextBreak_s(t), t1_s);
      sum += (end - t) * (this.at(t) + 0.5 * this.rateAfter_ps(t) * (end - t));
      t = end;
    }
    return sum;
  }

  /** Seconds of full burning still to come after t_s, when the engine has been cut; +Infinity when it burns on. */
  remaining_s(t_s: number): number {
    const n = this.times_s.length;
    if (n === 0) return 0;
    if (this.values[n - 1]! > 0) return Number.POSITIVE_INFINITY;
    return this.integral_s(t_s, Math.max(t_s, this.times_s[n - 1]!));
  }

  /** Whether the last command was to burn. Unitless. */
  get lit(): boolean {
    const n = this.values.length;
    return n > 0 && this.values[n - 1]! > 0;
  }

  /** A start command at mission time t_s. Seconds. */
  light(t_s: number, shape: TransientShape): void {
    this.redirect(t_s + shape.delay_s, shape.ramp_s, 1);
  }

  /** A cut command at mission time t_s; a running start is broken off where it stands. Seconds. */
  cut(t_s: number, shape: TransientShape): void {
    this.redirect(t_s + shape.delay_s, shape.ramp_s, 0);
  }

  /** Mission time at which the burning fraction last passes half of full, rising or falling; NaN if never. Seconds. */
  halfTime_s(rising: boolean): number {
    const { times_s, values } = this;
    for (let i = times_s.length - 1; i > 0; i--) {
      const before = values[i - 1]!;
      const after = values[i]!;
      if (rising ? before < 0.5 && after >= 0.5 : before >= 0.5 && after < 0.5) {
        return times_s[i - 1]! + ((times_s[i]! - times_s[i - 1]!) * (0.5 - before)) / (after - before);
      }
    }
    return Number.NaN;
  }

  private redirect(from_s: number, ramp_s: number, target: number): void {
    const here = this.at(from_s);
    while (this.times_s.length > 0 && this.times_s[this.times_s.length - 1]! >= from_s) {
      this.times_s.pop();
      this.values.pop();
    }
    this.times_s.push(from_s, from_s + ramp_s);
    this.values.push(here, target);
  }
}
