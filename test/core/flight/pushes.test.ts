import { describe, expect, it } from 'vitest';
import { followApart } from '../../../core/flight/pushes.ts';
import { LinearTable } from '../../../core/math/interpolation.ts';

describe('the push of a plume on the body below', () => {
  const table = { distance_m: [0, 0.4, 1.2, 3, 8, 18], share: [0.35, 0.32, 0.24, 0.12, 0.03, 0] };
  const thrust_N = 43_000;
  const { plume } = followApart({
    release_s: 0,
    upper: { mass_kg: () => 6000, force_N: () => thrust_N },
    lower: { mass_kg: () => 2200, force_N: () => 0 },
    strokes: [],
    impingement: new LinearTable(table.distance_m, table.share),
    plume_N: () => thrust_N,
    breaks_s: [],
  });

  it('only ever falls, and to nothing where its table does', () => {
    const forces = plume.flatMap(({ start_s, end_s, force_N, rate_Nps }) => [
      force_N,
      force_N + rate_Nps * (end_s - start_s),
    ]);
    // A straight line through a kink overshoots by some per cent of the greatest push; off by a piece it is a third of it.
    for (let i = 1; i < forces.length; i++)
      expect(forces[i]! - forces[i - 1]!).toBeLessThan(0.04 * 0.35 * thrust_N);
    expect(Math.abs(forces.at(-1)!)).toBeLessThan(0.002 * thrust_N);
    expect(Math.min(...forces)).toBeGreaterThan(-0.001 * thrust_N);
  });

  it('has the impulse of the table, by small steps of the plainest kind', () => {
    // Two bodies and a table once more, by the midpoint rule: an own, independent integration of the same statement.
    const share = (x: number): number => {
      const { distance_m: d, share: s } = table;
      const i = d.findIndex((edge) => edge > x);
      return i < 0 ? 0 : s[i - 1]! + ((x - d[i - 1]!) / (d[i]! - d[i - 1]!)) * (s[i]! - s[i - 1]!);
    };
    const rate = (x: number): number => thrust_N / 6000 + (share(x) * thrust_N) / 2200;
    const h = 1e-5;
    let [x, v, impulse_Ns] = [0, 0, 0];
    while (x < 18) {
      const middle = x + 0.5 * h * v;
      impulse_Ns += h * share(middle) * thrust_N;
      const w = v + 0.5 * h * rate(x);
      v += h * rate(middle);
      x += h * w;
    }
    const own_Ns = plume.reduce((sum, { start_s, end_s, force_N, rate_Nps }) => {
      const span_s = end_s - start_s;
      return sum + span_s * (force_N + 0.5 * span_s * rate_Nps);
    }, 0);
    // Steps of 10 µs are good to some 1e-6.
    expect(own_Ns / impulse_Ns).toBeCloseTo(1, 5);
  });
});
