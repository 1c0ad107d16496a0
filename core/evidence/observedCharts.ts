/** A study's flight drawn against points that somebody observed of it. */
import type { ChartPoint, TimeChart } from '../replay/timeChart.ts';
import type { ObservedPoint, ObservedQuantity } from '../study/calibration/observed.ts';
import type { ObservedFlight } from '../study/calibration/observer.ts';

const SHOWN: Readonly<Record<ObservedQuantity, { title: string; unit: string; size: number }>> = {
  altitude: { title: 'Altitude', unit: 'km', size: 1000 },
  speed: { title: 'Speed against the ground', unit: 'm/s', size: 1 },
  acceleration: { title: 'Acceleration felt', unit: 'm/s²', size: 1 },
  downrange: { title: 'Distance downrange', unit: 'km', size: 1000 },
};

type Flown = Extract<ObservedFlight, { ok: true }>;

/**
 * One chart a quantity that was observed: the flight and, where given, the one before a fit; points (SI) with their errors, and
 * below them what is computed less what was observed, in the chart's unit, with a standard error either way.
 */
export function observedCharts(points: readonly ObservedPoint[], now: Flown, before?: Flown): TimeChart[] {
  return now.curves.map(({ quantity, time_s, value }) => {
    const { title, unit, size } = SHOWN[quantity];
    const scaled = (values: readonly number[]): number[] => values.map((each) => each / size);
    const earlier = before?.curves.find((curve) => curve.quantity === quantity);
    const own = points.flatMap((point, k): ChartPoint[] => {
      if (point.quantity !== quantity) return [];
      const error = point.error / size;
      return [
        {
          time_s: point.time_s,
          name: `${point.time_s} s`,
          theirs: point.value / size,
          ours: now.computed[k]! / size,
          tolerance: [-error, error],
          error,
        },
      ];
    });
    return {
      title,
      unit,
      strip: 'computed less observed; field: one standard error either way',
      time_s,
      ours: scaled(value),
      points: own,
      ...(earlier === undefined ? {} : { before: { time_s: earlier.time_s, value: scaled(earlier.value) } }),
    };
  });
}
