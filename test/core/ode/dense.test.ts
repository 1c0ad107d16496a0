import { describe, expect, it } from 'vitest';
import { interpolate, StepStore } from '../../../core/ode/dense.ts';

/** Appends a step on which the one component runs from `from` to `to` in a straight line. */
function appendLine(store: StepStore, t: number, h: number, piece: number, from: number, to: number): void {
  const offset = store.append(t, h, piece);
  store.raw.set([from, to - from, 0, 0, 0], offset);
}

describe('interpolate', () => {
  it('is the polynomial of fourth degree that its coefficients say', () => {
    // y0 + θ (r1 + (1 − θ)(r2 + θ (r3 + (1 − θ) r4))), two components, by hand at θ = 1/4:
    // 1 + .25 (2 + .75 (3 + .25 (4 + .75 · 5))) = 1 + .25 (2 + .75 · 4.9375) = 2.42578125.
    const coefficients = Float64Array.of(-9, 1, 0, 2, 0, 3, 0, 4, 0, 5, 8);
    const out = new Float64Array(2);
    interpolate(coefficients, 1, 2, 0.25, out);
    expect(out[0]).toBe(2.42578125);
    // The second component's coefficients are 0, 0, 0, 0, 8: 8 (θ (1 − θ))² = 8 · .03515625.
    expect(out[1]).toBe(0.28125);
  });
});

describe('a store of steps', () => {
  it('gives back its steps, in order, through several growths', () => {
    const store = new StepStore(1, true, 2);
    for (let i = 0; i < 100; i++) appendLine(store, i * 0.5, 0.5, i % 3, i, i + 1);
    expect(store.count).toBe(100);
    expect(store.start).toBe(0);
    expect(store.end).toBe(50);
    const out = new Float64Array(1);
    for (let i = 0; i < 100; i++) {
      expect(store.timeOf(i)).toBe(i * 0.5);
      expect(store.lengthOf(i)).toBe(0.5);
      expect(store.pieceOf(i)).toBe(i % 3);
      store.sample(i * 0.5 + 0.125, out);
      expect(out[0]).toBe(i + 0.25);
    }
  });

  it('keeps all components of a step together when it grows', () => {
    const store = new StepStore(3, true, 1);
    for (let i = 0; i < 9; i++) {
      const offset = store.append(i, 1, 0);
      for (let k = 0; k < 15; k++) store.raw[offset + k] = k < 3 ? 10 * i + k : 0;
    }
    const out = new Float64Array(3);
    for (let i = 0; i < 9; i++) {
      store.sample(i + 0.5, out);
      expect([...out]).toEqual([10 * i, 10 * i + 1, 10 * i + 2]);
    }
  });

  it('finds at a boundary the later step, so that a jump is seen from its right', () => {
    const store = new StepStore(1);
    appendLine(store, 0, 1, 0, 0, 1);
    appendLine(store, 1, 2, 1, 100, 101);
    appendLine(store, 3, 0.5, 2, 200, 201);
    const out = new Float64Array(1);
    const justBefore = 1 - Number.EPSILON;
    for (const [t, step] of [
      [-1, 0],
      [0, 0],
      [justBefore, 0],
      [1, 1],
      [2.999, 1],
      [3, 2],
      [3.5, 2],
      [99, 2],
    ] as const) {
      expect(store.find(t)).toBe(step);
    }
    store.sample(1, out);
    expect(out[0]).toBe(100);
    store.sample(justBefore, out);
    expect(out[0]).toBeCloseTo(1, 12);
    // The side from the left is had by naming the step.
    store.sampleStep(0, 1, out);
    expect(out[0]).toBe(1);
  });

  it('clamps times outside to its ends', () => {
    const store = new StepStore(1);
    appendLine(store, 2, 1, 0, 5, 6);
    appendLine(store, 3, 1, 0, 6, 8);
    const out = new Float64Array(1);
    store.sample(-100, out);
    expect(out[0]).toBe(5);
    store.sample(100, out);
    expect(out[0]).toBe(8);
  });

  it('is empty after it is cleared, and takes steps again', () => {
    const store = new StepStore(1);
    appendLine(store, 0, 1, 0, 0, 1);
    store.clear();
    expect(store.count).toBe(0);
    expect(store.start).toBeNaN();
    expect(store.end).toBeNaN();
    appendLine(store, 7, 1, 4, 3, 4);
    expect(store.start).toBe(7);
    expect(store.pieceOf(0)).toBe(4);
  });

  it('refuses to look into what it does not hold', () => {
    const out = new Float64Array(1);
    const store = new StepStore(1);
    expect(() => store.find(0)).toThrow('StepStore.find: the store holds no step');
    expect(() => store.sample(0, out)).toThrow(RangeError);
    appendLine(store, 0, 1, 0, 0, 1);
    expect(() => store.sample(Number.NaN, out)).toThrow('StepStore.sample: t is NaN');
    for (const step of [-1, 1, Number.NaN]) {
      expect(() => store.sampleStep(step, 0, out)).toThrow(`StepStore.sampleStep: step is ${step}`);
    }
    const bare = new StepStore(1, false);
    bare.append(0, 1, 0);
    expect(() => bare.sample(0.5, out)).toThrow(
      'StepStore.sampleStep: the store keeps no interpolation coefficients',
    );
  });

  it('refuses a size that it cannot have', () => {
    for (const dimension of [0, -1, 1.5]) {
      expect(() => new StepStore(dimension)).toThrow(`StepStore: dimension is ${dimension}`);
    }
  });

  it('takes steps from no room at all', () => {
    const store = new StepStore(1, true, 0);
    for (let i = 0; i < 20; i++) appendLine(store, i, 1, 0, i, i + 1);
    const out = new Float64Array(1);
    store.sample(18.25, out);
    expect(out[0]).toBe(18.25);
  });

  it('goes through plain arrays and back unchanged, and grows on', () => {
    const store = new StepStore(1, true, 2);
    for (let i = 0; i < 5; i++) appendLine(store, i, 1, i, i * i, (i + 1) ** 2);
    const copy = StepStore.fromArrays(structuredClone(store.toArrays()));
    expect(copy.toArrays()).toEqual(store.toArrays());
    appendLine(copy, 5, 1, 5, 25, 36);
    const out = new Float64Array(1);
    for (const t of [0.5, 3, 4.75, 5.5]) {
      copy.sample(t, out);
      expect(out[0]).toBe(Math.floor(t) ** 2 + (t % 1) * (2 * Math.floor(t) + 1));
    }
    expect(store.count).toBe(5);
  });

  it('is still dense, or not, after it went through plain arrays', () => {
    const bare = new StepStore(2, false);
    bare.append(0, 1, 0);
    expect(StepStore.fromArrays(bare.toArrays()).dense).toBe(false);
    const empty = StepStore.fromArrays(new StepStore(1).toArrays());
    expect(empty.count).toBe(0);
    appendLine(empty, 0, 1, 0, 3, 4);
    const out = new Float64Array(1);
    empty.sample(0.5, out);
    expect(out[0]).toBe(3.5);
  });

  it('refuses arrays that do not belong together', () => {
    const store = new StepStore(2);
    store.append(0, 1, 0);
    const arrays = store.toArrays();
    expect(() => StepStore.fromArrays({ ...arrays, lengths: new Float64Array(2) })).toThrow(
      '1 times, 2 lengths',
    );
    expect(() => StepStore.fromArrays({ ...arrays, pieces: new Int32Array(0) })).toThrow(RangeError);
    expect(() => StepStore.fromArrays({ ...arrays, coefficients: new Float64Array(9) })).toThrow(
      '10 coefficients are wanted',
    );
  });

  it('keeps no coefficients when told to hold a step sequence alone', () => {
    const store = new StepStore(4, false, 1);
    for (let i = 0; i < 5; i++) store.append(i, 1, i);
    expect(store.raw).toHaveLength(0);
    expect(store.timeOf(4)).toBe(4);
    expect(store.pieceOf(4)).toBe(4);
  });
});
