/** The study's own flight, of its own numbers, read as somebody would who watches it. */
import type { Study } from '../../contract/study.ts';
import { compileStudy, startValues, type CompiledStudy } from '../../flight/compile.ts';
import { SOLVE_ACCURACY } from '../../flight/accuracy.ts';
import { launchFrame } from '../../flight/launch.ts';
import { downrange_m } from '../../flight/log.ts';
import { recordFlight } from '../../flight/record.ts';
import { TrackReader, type Observation } from '../../flight/track.ts';
import type { ObservedPoint, ObservedQuantity } from './observed.ts';

/** One quantity against time; a time that comes twice is a jump. SI. */
export interface ObservedCurve {
  readonly quantity: ObservedQuantity;
  readonly time_s: readonly number[];
  readonly value: readonly number[];
}

/** A flight to be read at any of its times. SI; what cannot be flown or read is a sentence, never a number. */
export class Observer {
  private constructor(
    private readonly flown: CompiledStudy,
    private readonly reader: TrackReader,
    private readonly boundaries_s: readonly number[],
    readonly start_s: number,
    readonly end_s: number,
  ) {}

  /** Flies the compiled study's own numbers; a sentence where they cannot be flown. SI. */
  static fly(compiled: CompiledStudy): Observer | string {
    const record = recordFlight(compiled, startValues(compiled), SOLVE_ACCURACY);
    if (record.status.code !== 'flown') return record.status.message;
    const flown = { ...compiled, plan: record.plan };
    const track = record.tracks[0]!;
    const launch = launchFrame(compiled.site, record.values[1]!);
    const reader = new TrackReader(flown, track, record.values, launch);
    const boundaries_s = track.segments.slice(1).map((segment) => segment.start_s);
    return new Observer(flown, reader, boundaries_s, track.start_s, track.end_s);
  }

  /** What is seen at the points, in their order, SI; a sentence where one of them lies outside the flight. */
  values(points: readonly ObservedPoint[]): Float64Array | string {
    const out = new Float64Array(points.length);
    for (const [k, { time_s, quantity }] of points.entries()) {
      if (time_s < this.start_s || time_s > this.end_s) {
        const span = `${this.start_s.toFixed(1)} s to ${this.end_s.toFixed(1)} s`;
        return `A point at ${time_s} s lies outside the flight, which lasts from ${span}.`;
      }
      out[k] = this.read(this.reader.at(time_s), quantity);
    }
    return out;
  }

  /** Curves of the quantities from the start, so many even spans up to a time (s), and both sides of what happens at once. */
  curves(quantities: readonly ObservedQuantity[], until_s: number, spans: number): ObservedCurve[] {
    const end_s = Math.min(this.end_s, until_s);
    const grid = Array.from({ length: spans + 1 }, (_, i) => ({
      t: this.start_s + ((end_s - this.start_s) * i) / spans,
      before: false,
    }));
    const joints = this.boundaries_s
      .filter((t) => t > this.start_s && t < end_s)
      .flatMap((t) => [
        { t, before: true },
        { t, before: false },
      ]);
    const moments = [...grid, ...joints].sort((a, b) => a.t - b.t || Number(b.before) - Number(a.before));
    const time_s = moments.map(({ t }) => t);
    return quantities.map((quantity) => ({
      quantity,
      time_s,
      value: moments.map(({ t, before }) => this.read(this.reader.at(t, before), quantity)),
    }));
  }

  private read(now: Observation, quantity: ObservedQuantity): number {
    switch (quantity) {
      case 'altitude':
        return now.height_m;
      case 'speed':
        return now.speedRelative_mps;
      case 'acceleration':
        return now.sensed_mps2;
      case 'downrange':
        return downrange_m(this.flown, now);
    }
  }
}

/** A flight laid under points; where there is none, or it does not reach them, the sentence that says so. */
export type ObservedFlight =
  | {
      readonly ok: true;
      readonly curves: readonly ObservedCurve[];
      /** At the points, in their order, SI. */
      readonly computed: readonly number[];
      /** Σ((computed − observed)/error)². */
      readonly chiSquare: number;
    }
  | { readonly ok: false; readonly message: string };

/** How much further than the last point the curves go. */
const BEYOND = 1.05;
const SPANS = 240;

/** The study's own flight under the points (SI), with curves of the quantities that were observed. */
export function observeFlight(study: Study, points: readonly ObservedPoint[]): ObservedFlight {
  const observer = Observer.fly(compileStudy(study));
  if (typeof observer === 'string') return { ok: false, message: observer };
  const computed = observer.values(points);
  if (typeof computed === 'string') return { ok: false, message: computed };
  const quantities = [...new Set(points.map((point) => point.quantity))];
  const last_s = Math.max(...points.map((point) => point.time_s));
  return {
    ok: true,
    curves: observer.curves(quantities, BEYOND * last_s, SPANS),
    computed: [...computed],
    chiSquare: points.reduce((sum, { value, error }, k) => sum + ((computed[k]! - value) / error) ** 2, 0),
  };
}
