import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Transient } from '../../../core/vehicle/transient.ts';

const RISE = { delay_s: 0.5, ramp_s: 2 };
const FALL = { delay_s: 0.25, ramp_s: 1 };
const AT_ONCE = { delay_s: 0, ramp_s: 0 };

/** Integral by 20 000 midpoints, to a few parts in 10⁵ of a second where the fraction jumps. */
function midpoints_s(transient: Transient, from_s: number, to_s: number): number {
  const h = (to_s - from_s) / 20_000;
  let sum = 0;
  for (let i = 0; i < 20_000; i++) sum += transient.at(from_s + (i + 0.5) * h) * h;
  return sum;
}

describe('a start', () => {
  it('waits for its delay and rises in a line', () => {
    const engine = new Transient();
    engine.light(10, RISE);
    const seen = [9, 10, 10.5, 11, 11.5, 12.5, 100].map((t) => engine.at(t));
    expect(seen).toEqual([0, 0, 0, 0.25, 0.5, 1, 1]);
    expect(engine.rateAfter_ps(10.4)).toBe(0);
    expect(engine.rateAfter_ps(10.5)).toBe(0.5);
    expect(engine.rateAfter_ps(12.5)).toBe(0);
    expect([engine.nextBreak_s(9), engine.nextBreak_s(10.5), engine.nextBreak_s(12.5)]).toEqual([
      10.5,
      12.5,
      Infinity,
    ]);
    expect(engine.halfTime_s(true)).toBe(11.5);
    expect(engine.halfTime_s(false)).toBeNaN();
    expect(engine.lit).toBe(true);
    expect(engine.remaining_s(11)).toBe(Infinity);
  });

  it('at once has its value after the jump', () => {
    const engine = new Transient();
    engine.light(3, AT_ONCE);
    expect([engine.at(3 - 1e-12), engine.at(3)]).toEqual([0, 1]);
    expect(engine.rateAfter_ps(3)).toBe(0);
    expect(engine.integral_s(2, 5)).toBe(2);
    expect(engine.halfTime_s(true)).toBe(3);
  });
});

describe('a stop', () => {
  it('waits for its delay, falls in a line and leaves a known tail', () => {
    const engine = new Transient();
    engine.light(0, AT_ONCE);
    engine.cut(20, FALL);
    expect([20, 20.25, 20.75, 21.25, 30].map((t) => engine.at(t))).toEqual([1, 1, 0.5, 0, 0]);
    // Delay and half the ramp.
    expect(engine.remaining_s(20)).toBeCloseTo(0.75, 14);
    expect(engine.halfTime_s(false)).toBe(20.75);
    expect(engine.halfTime_s(true)).toBe(0);
    expect(engine.lit).toBe(false);
  });

  it('breaks a running start off where it stands', () => {
    const engine = new Transient();
    engine.light(0, RISE);
    engine.cut(1.25, FALL);
    // The start had come to half when the delay was over, at 1.5 s.
    expect(engine.at(1.5)).toBe(0.5);
    expect(engine.at(2)).toBe(0.25);
    expect(engine.at(2.5)).toBe(0);
    expect(engine.remaining_s(1.5)).toBeCloseTo(0.25, 14);
  });

  it('before the start has begun leaves nothing', () => {
    const engine = new Transient();
    engine.light(0, { delay_s: 5, ramp_s: 1 });
    engine.cut(1, FALL);
    expect([0, 1, 2, 5.5, 7].map((t) => engine.at(t))).toEqual([0, 0, 0, 0, 0]);
    expect(engine.remaining_s(1)).toBe(0);
  });
});

describe('a history of commands', () => {
  it('of an engine never lit is nothing at all', () => {
    const engine = new Transient();
    expect(engine.at(5)).toBe(0);
    expect(engine.lit).toBe(false);
    expect(engine.remaining_s(5)).toBe(0);
    expect(engine.nextBreak_s(0)).toBe(Infinity);
    expect(engine.integral_s(0, 10)).toBe(0);
  });

  it('is copied whole: a command to the copy leaves the original alone', () => {
    const engine = new Transient();
    engine.light(0, RISE);
    const copy = engine.clone();
    copy.cut(10, FALL);
    expect(engine.at(20)).toBe(1);
    expect(copy.at(20)).toBe(0);
    expect(copy.at(9)).toBe(engine.at(9));
  });

  it('has an integral that is exact over any span, for any commands', () => {
    const shape = fc.record({
      delay_s: fc.double({ min: 0, max: 3, noNaN: true }),
      ramp_s: fc.double({ min: 0, max: 4, noNaN: true }),
    });
    const steps = fc.array(fc.tuple(fc.double({ min: 0.1, max: 8, noNaN: true }), shape), {
      minLength: 1,
      maxLength: 4,
    });
    fc.assert(
      fc.property(steps, fc.double({ min: 0, max: 10, noNaN: true }), (commands, from) => {
        const engine = new Transient();
        let t = 0;
        commands.forEach(([wait, each], i) => {
          t += wait;
          if (i % 2 === 0) engine.light(t, each);
          else engine.cut(t, each);
        });
        const to = from + 20;
        // Midpoints are exact on lines and wrong by up to a step, 1 ms, at each jump and kink.
        expect(Math.abs(engine.integral_s(from, to) - midpoints_s(engine, from, to))).toBeLessThan(8e-3);
        const middle = from + 7;
        const split = engine.integral_s(from, middle) + engine.integral_s(middle, to);
        expect(split).toBeCloseTo(engine.integral_s(from, to), 10);
        for (const at of [from, middle, to]) {
          expect(engine.at(at)).toBeGreaterThanOrEqual(0);
          expect(engine.at(at)).toBeLessThanOrEqual(1);
        }
      }),
      { seed: 20260, numRuns: 60 },
    );
  });
});
