import { describe, expect, it } from 'vitest';
import type { ChartShape } from '../../../core/replay/chartParts.ts';
import { lineShapes, type LineChart } from '../../../core/replay/lineChart.ts';

const SIZE = { width: 500, height: 230 };
const measure = (words: string): number => 7 * words.length;
const chart: LineChart = {
  title: 'Dynamic pressure',
  unit: 'kPa',
  along: 'seconds of mission time',
  curves: [{ name: 'one', strong: true, times_s: [100, 200, 300], values: [0, 60, 30] }],
  limit: 70,
  spans: [
    { name: 'entry burn', start_s: 240, end_s: 260 },
    { name: 'landing burn', start_s: 280, end_s: 300 },
  ],
  ringed: true,
};
const shapes = lineShapes(chart, SIZE, measure);
const all = (kind: string, of = shapes): ChartShape[] => of.filter((shape) => shape.kind === kind);
const placesOf = (path: ChartShape): number[][] =>
  String(path.at['d'])
    .split(/[ML]/)
    .slice(1)
    .map((pair) => pair.split(' ').map(Number));

describe('a chart of curves against time', () => {
  it('is linear in both, with nought at its floor, and holds the limit', () => {
    const [first, middle, last] = placesOf(all('curve')[0]!);
    expect(middle![0]! - first![0]!).toBeCloseTo(last![0]! - middle![0]!, 0);
    // 60 lies twice as far above the floor as 30; the floor is where the value of nought is.
    expect((first![1]! - middle![1]!) / (first![1]! - last![1]!)).toBeCloseTo(2, 1);
    const bound = Number(all('bound')[0]!.at['y1']);
    expect((first![1]! - bound) / (first![1]! - middle![1]!)).toBeCloseTo(70 / 60, 1);
    expect(bound).toBeGreaterThan(0);
  });

  it('rings the greatest value', () => {
    const [ring] = all('ring');
    expect([ring!.at['cx'], ring!.at['cy']]).toEqual(placesOf(all('curve')[0]!)[1]);
    expect(ring!.words).toBe('greatest: 60 kPa');
  });

  it('marks spans from their start to their end, their names apart from each other and within the picture', () => {
    const [landing, entry] = all('span').map((span) =>
      /M([\d.]+) [\d.]+h([\d.]+)/.exec(String(span.at['d']))!,
    );
    const [from, , to] = placesOf(all('curve')[0]!).map(([x]) => x!);
    const x = (t: number): number => from! + ((t - 100) / 200) * (to! - from!);
    expect(Number(entry![1])).toBeCloseTo(x(240), 0);
    expect(Number(landing![1]) + Number(landing![2])).toBeCloseTo(x(300), 0);
    const at = (words: string): number => Number(shapes.find((shape) => shape.words === words)!.at['x']);
    expect(at('landing burn') + measure('landing burn')).toBeLessThanOrEqual(SIZE.width);
    expect(at('entry burn') + measure('entry burn')).toBeLessThan(at('landing burn'));
  });

  it('names several curves at their ends, no name on another', () => {
    const several = lineShapes(
      {
        ...chart,
        spans: [],
        limit: Number.NaN,
        ringed: false,
        curves: [
          { name: 'slow', strong: false, times_s: [0, 3], values: [0, 20] },
          { name: 'quick', strong: true, times_s: [0, 3], values: [0, 20.5] },
        ],
      },
      SIZE,
      measure,
    );
    expect(all('other', several)).toHaveLength(1);
    const [strong] = all('strong', several);
    const slow = several.find((shape) => shape.words === 'slow')!;
    expect(strong!.words).toBe('quick');
    expect(Math.abs(Number(strong!.at['y']) - Number(slow.at['y']))).toBeGreaterThanOrEqual(13);
    expect(all('bound', several)).toEqual([]);
  });
});
