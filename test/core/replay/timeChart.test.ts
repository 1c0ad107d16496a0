import { describe, expect, it } from 'vitest';
import type { ChartShape } from '../../../core/replay/chartParts.ts';
import { chartShapes, type TimeChart } from '../../../core/replay/timeChart.ts';

const SIZE = { width: 540, height: 366 };
const chart: TimeChart = {
  title: 'Height',
  unit: 'km',
  strip: 'ours less theirs',
  time_s: [0, 10, 10, 100],
  ours: [0, 20, 10, 50],
  before: { time_s: [0, 50, 100], value: [0, 18, 40] },
  points: [
    { time_s: 10, name: 'one', theirs: 12, ours: 10, span: [9, 11], tolerance: [-4, 4], error: 1 },
    { time_s: 50, name: 'two', theirs: 30, ours: 33, tolerance: null },
    { time_s: 100, name: 'three', theirs: 50, ours: 50, tolerance: [-4, 4] },
  ],
};
const shapes = chartShapes(chart, SIZE);
const all = (kind: string): ChartShape[] => shapes.filter((shape) => shape.kind === kind);
const number = (shape: ChartShape, name: string): number => Number(shape.at[name]);

describe('a chart against time', () => {
  it('puts a point of theirs on the curve where both are equal', () => {
    const last = all('ring')[2]!;
    const path = String(all('curve')[0]!.at['d']);
    expect(path.split('L').at(-1)).toBe(`${number(last, 'cx')} ${number(last, 'cy')}`);
    // The axis is linear: a value of 50 lies as far above 12 as its share of the height says.
    const [first, second] = all('ring');
    const slope = (number(first!, 'cy') - number(second!, 'cy')) / (30 - 12);
    expect((number(second!, 'cy') - number(last, 'cy')) / (50 - 30)).toBeCloseTo(slope, 1);
  });

  it('shows a difference above nought where ours is more, within what is allowed', () => {
    const zero = number(all('zero')[0]!, 'y1');
    const [less, more, none] = all('dot');
    expect(number(less!, 'cy')).toBeGreaterThan(zero);
    expect(number(more!, 'cy')).toBeLessThan(zero);
    expect(number(none!, 'cy')).toBe(zero);
    expect(more!.words).toBe('two: +3 km');
    // A tolerance of 4 is drawn twice as far out as a difference of 2.
    const limits = all('limit').map((each) => number(each, 'y1') - zero);
    expect(limits[0]! / (number(less!, 'cy') - zero)).toBeCloseTo(2, 1);
    expect(limits).toHaveLength(4);
    // The field reaches from one limit to the other.
    const field = String(all('allowed')[0]!.at['d']);
    const ends = field.match(/[ML][\d.]+ ([\d.]+)/g)!.map((each) => Number(each.split(' ')[1]) - zero);
    expect(ends.map((each) => each.toFixed(1))).toEqual([limits[1]!.toFixed(1), limits[0]!.toFixed(1)]);
  });

  it('does not carry a tolerance across a point that has none', () => {
    expect(all('allowed')).toHaveLength(2);
  });

  it('draws a jump straight down, and an error bar as long as the error on both sides', () => {
    const [, before, after] = String(all('curve')[0]!.at['d']).split('L');
    expect(before!.split(' ')[0]).toBe(after!.split(' ')[0]);
    const [bar] = all('error');
    const middle = (number(bar!, 'y1') + number(bar!, 'y2')) / 2;
    expect(middle).toBeCloseTo(number(all('ring')[0]!, 'cy'), 0);
  });

  it('holds a point that lies beyond its curve', () => {
    const late = chartShapes(
      { ...chart, points: [{ time_s: 150, name: 'late', theirs: 70, ours: 60, tolerance: null }] },
      SIZE,
    );
    const ring = late.find((shape) => shape.kind === 'ring')!;
    expect(number(ring, 'cx')).toBeLessThanOrEqual(SIZE.width);
    expect(number(ring, 'cy')).toBeGreaterThan(0);
  });
});
