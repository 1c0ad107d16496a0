import { expect, it } from 'vitest';
import { SobolPoints } from '../../../../core/math/sobol.ts';
import type { SpreadHeader } from '../../../../core/study/spread/header.ts';
import { summarise } from '../../../../core/study/spread/summary.ts';
import { SpreadTally } from '../../../../core/study/spread/tally.ts';
import published from '../../../published/statistics/spread.json' with { type: 'json' };

const { ishigami } = published;
const N = 2 ** 14;

function tallied(seed: number): ReturnType<typeof summarise> {
  const input = (path: string) => ({
    path,
    shape: 'uniform' as const,
    low: -Math.PI,
    high: Math.PI,
    nominal: 0,
    deviation: Math.PI / Math.sqrt(3),
  });
  const header: SpreadHeader = {
    title: '',
    inputsHash: '',
    engine: '',
    seed,
    indices: true,
    inputs: ['x1', 'x2', 'x3'].map(input),
    cases: [{ name: 'f', changes: [], payload_kg: 3, slopes: [0, 0, 0] }],
    quantities: [{ key: 'f', weights: [1], over: -1, nominal: 3, low: -12, high: 20 }],
  };
  const f = ([x1, x2, x3]: number[]): number =>
    Math.sin(x1!) + ishigami.a * Math.sin(x2!) ** 2 + ishigami.b * x3! ** 4 * Math.sin(x1!);
  const points = new SobolPoints(6, seed);
  const u = new Float64Array(6);
  const tally = new SpreadTally(header);
  for (let from = 0; from < N; from += 64) {
    const payloads_kg: number[] = [];
    for (let member = from; member < from + 64; member++) {
      points.point(member, u);
      const x = [...u].map((each) => (2 * each - 1) * Math.PI);
      const [a, b] = [x.slice(0, 3), x.slice(3)];
      payloads_kg.push(f(a), f(b));
      for (let i = 0; i < 3; i++) payloads_kg.push(f(a.map((each, j) => (j === i ? b[j]! : each))));
    }
    tally.add({ from, to: from + 64, payloads_kg: Float64Array.from(payloads_kg), failures: [] });
  }
  return summarise(tally);
}

it('finds mean, variance and indices of the Ishigami function', () => {
  let worst = 0;
  for (const seed of [1, 2, 3]) {
    const [summary] = tallied(seed).quantities;
    // 2^14 points: the error of the indices asked for is 0.01; the mean and the variance are better known.
    const { first, total } = summary!.indices!;
    const deviations = [
      ...first.map((s, i) => s - ishigami.first[i]!),
      ...total.map((s, i) => s - ishigami.total[i]!),
    ];
    worst = Math.max(worst, ...deviations.map(Math.abs));
    expect(Math.abs(summary!.mean - ishigami.mean)).toBeLessThan(1e-3);
    expect(Math.abs(summary!.deviation ** 2 / ishigami.variance - 1)).toBeLessThan(1e-3);
    // By the blocks' means: above the true error, and not absurdly so.
    expect(summary!.errorOfMean).toBeGreaterThan(Math.abs(summary!.mean - ishigami.mean));
    expect(summary!.errorOfMean).toBeLessThan(Math.sqrt(ishigami.variance / N));
  }
  console.log(`Ishigami: worst error of an index ${worst.toFixed(5)}`);
  expect(worst).toBeLessThan(0.01);
});
