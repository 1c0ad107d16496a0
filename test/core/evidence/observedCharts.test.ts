import { describe, expect, it } from 'vitest';
import { observedCharts } from '../../../core/evidence/observedCharts.ts';
import type { ObservedPoint } from '../../../core/study/calibration/observed.ts';

const points: ObservedPoint[] = [
  { quantity: 'altitude', time_s: 10, value: 5000, error: 100 },
  { quantity: 'speed', time_s: 10, value: 300, error: 4 },
  { quantity: 'altitude', time_s: 20, value: 9000, error: 200 },
];
const flown = (shift: number) => ({
  ok: true as const,
  curves: [
    { quantity: 'altitude' as const, time_s: [0, 20], value: [0, 9100 + shift] },
    { quantity: 'speed' as const, time_s: [0, 20], value: [0, 500] },
  ],
  computed: [5100 + shift, 297, 9100 + shift],
  chiSquare: 0,
});

describe('charts of observed points', () => {
  it('have the points of their quantity alone, with what is computed for each, in the unit of the chart', () => {
    const [altitude, speed] = observedCharts(points, flown(0));
    expect(altitude!.unit).toBe('km');
    expect(altitude!.ours).toEqual([0, 9.1]);
    expect(altitude!.points.map(({ theirs, ours, error }) => [theirs, ours, error])).toEqual([
      [5, 5.1, 0.1],
      [9, 9.1, 0.2],
    ]);
    expect(speed!.points).toEqual([
      { time_s: 10, name: '10 s', theirs: 300, ours: 297, tolerance: [-4, 4], error: 4 },
    ]);
    expect(altitude!.before).toBeUndefined();
  });

  it('show the flight before a fit beside the fitted one', () => {
    const [altitude] = observedCharts(points, flown(0), flown(-500));
    expect(altitude!.ours).toEqual([0, 9.1]);
    expect(altitude!.before).toEqual({ time_s: [0, 20], value: [0, 8.6] });
  });
});
