/** What the sweep's chart draws: plain data, in the abscissa's shown unit and in kg. */
import type { SteeringMode } from '../../core/study/sweep.ts';

export interface ChartPoint {
  readonly x: number;
  readonly payload_kg: number;
  /** Told when pointed at. */
  readonly words: string;
}

export interface ChartCurve {
  readonly mode: SteeringMode;
  /** In order of x, at least one. */
  readonly points: readonly ChartPoint[];
}

export interface BandPoint {
  readonly x: number;
  readonly low_kg: number;
  readonly high_kg: number;
}

/** A gain read off: from one payload down to another, and the place on the abscissa where the curve comes there. */
export interface ReadOff {
  readonly from_kg: number;
  readonly to_kg: number;
  readonly words: string;
  readonly note: string;
  readonly place: { readonly value: number; readonly low: number; readonly high: number };
  readonly placeWords: string;
}

/** Labels in order of height, each at least `room` px under the one before; `at` is where its curve ends. */
export function endsApart<Mode>(
  ends: readonly { readonly mode: Mode; readonly at: number }[],
  room: number,
): { mode: Mode; at: number; y: number }[] {
  const list = ends.map((end) => ({ ...end, y: end.at })).sort((p, q) => p.y - q.y);
  for (let i = 1; i < list.length; i++) list[i]!.y = Math.max(list[i]!.y, list[i - 1]!.y + room);
  return list;
}
