/**
 * Limits of the flight as inequalities of the solve. A greatest value is looked for in every span of the plan by itself,
 * so that peaks that rise and fall against each other do not trade places within one condition: first at points within
 * each held step, then by golden section, on the step's interpolant and, near the limit, on the step itself taken as far as
 * wanted, which is as good as the flight (the interpolant alone errs by 1e-5 of a peak). By the envelope theorem a peak's derivative is that at
 * its place held fixed, so flights over held steps are read at the same share of the same step; but a peak on the edge of a
 * smooth piece (dynamic pressure is often greatest at the tropopause, where the density's slope jumps) stays on that edge, so
 * there the crossing is found anew. Values at an event are read at the end of the step that ends there.
 */
import type { Study } from '../contract/study.ts';
import type { CompiledStudy } from '../flight/compile.ts';
import type { FlightEngine } from '../flight/engine.ts';
import { PlanError } from '../flight/planTypes.ts';
import { interpolate } from '../ode/dense.ts';
import { DormandPrinceStepper } from '../ode/stepper.ts';
import type { StepObserver } from '../ode/replay.ts';
import { findMaximum } from '../math/extrema.ts';

export type LimitKind = 'dynamicPressure' | 'pressureAngle' | 'sensedAcceleration' | 'heatFlux' | 'altitude';

/** One limit of a study. SI; the value is a greatest one but for the altitude, which is a least. */
export interface Limit {
  readonly kind: LimitKind;
  /** Where it stands in the document. */
  readonly path: string;
  readonly value: number;
  /** Index of the event at which it holds, −1 throughout the flight. */
  readonly event: number;
}

/** How a limit fares on a flight. SI. */
export interface Reading {
  readonly limit: Limit;
  readonly value: number;
  /** Mission time at which that is, s. */
  readonly time_s: number;
}

/** Margins of a least height count in units of this, m; those of greatest values as shares of the limit. */
const HEIGHT_m = 1e4;
/** Shares of a step at which it is looked at. */
const LOOKS = [0.25, 0.5, 0.75, 1];
/** Place of a peak within a step; its value errs with the square. */
const PLACE = 1e-5;
/** A peak is looked for on the step itself this far around that of the interpolant, as a share of the step. */
const AROUND = 0.02;
/** First secant towards an edge, as a share of the step; how near it is wanted, in the margin's unit, and in how many tries. */
const EDGE_TRY = 1e-3;
const ON_EDGE = 1e-13;
const MOST_TRIES = 8;
/** A margin below this counts as near the limit. */
const NEAR = 0.1;
/** Spans that a flight with state triggers may have beyond those known beforehand. */
const MORE_SPANS = 16;

/** All limits that a study states, in the order of the document; SI. Throws PlanError for an event that never comes about. */
export function limitsOf({ study, plan, waits }: CompiledStudy): Limit[] {
  const { limits } = study;
  if (limits === undefined) return [];
  const found: Limit[] = [];
  const through = (kind: LimitKind, key: keyof NonNullable<Study['limits']>): void => {
    const value = limits[key];
    if (typeof value === 'number') found.push({ kind, path: `limits.${key}`, value, event: -1 });
  };
  through('dynamicPressure', 'dynamicPressure_Pa');
  through('pressureAngle', 'pressureAngle_Parad');
  through('sensedAcceleration', 'sensedAcceleration_mps2');
  const at = (kind: LimitKind, path: string, id: string, key: string, value: number): void => {
    const event = study.sequence.events.findIndex((each) => each.id === id);
    if (!waits && Number.isNaN(plan.eventTimes_s[event]!)) {
      throw new PlanError(`${path}.event`, `"${id}" never comes about, allowed is an event of the flight`);
    }
    found.push({ kind, path: `${path}.${key}`, value, event });
  };
  limits.heatFluxAt?.forEach(({ event, heatFlux_Wpm2 }, i) =>
    at('heatFlux', `limits.heatFluxAt.${i}`, event, 'heatFlux_Wpm2', heatFlux_Wpm2),
  );
  limits.altitudeAt?.forEach(({ event, least_m }, i) =>
    at('altitude', `limits.altitudeAt.${i}`, event, 'least_m', least_m),
  );
  return found;
}

/** A place on the flight: a share of a held step. */
interface Mark {
  readonly limit: number;
  /** Step, −1 while none is known. */
  step: number;
  share: number;
  /** The step ends on the edge of a smooth piece, and the peak is there. */
  onEdge: boolean;
  /** As the last controlled flight has it, and as the flight in hand does. */
  base: number;
  value: number;
  time_s: number;
}

/** The limits on the flights of one engine, whose observer it is while it reads. See the top of the file. */
export class FlightLimits implements StepObserver {
  /** Number of conditions. */
  readonly count: number;
  private readonly marks: Mark[] = [];
  /** Index of the first mark of each limit. */
  private readonly firstMark: number[] = [];
  private readonly spans: number;
  private readonly dense: Float64Array;
  private readonly state: Float64Array;
  private readonly stepper: DormandPrinceStepper;
  private readonly slope: Float64Array;
  private readonly first: number;
  private mode: 'look' | 'refine' | 'read' = 'read';
  private segment = 0;

  constructor(
    private readonly engine: FlightEngine,
    readonly limits: readonly Limit[],
  ) {
    const { plan, waits } = engine.compiled;
    this.first = plan.segments.findIndex((segment) => !segment.held);
    this.spans = plan.segments.length - this.first + (waits ? MORE_SPANS : 0);
    limits.forEach(({ event }, limit) => {
      this.firstMark.push(this.marks.length);
      const many = event < 0 ? this.spans : 1;
      for (let i = 0; i < many; i++) {
        this.marks.push({
          limit,
          step: -1,
          share: 1,
          onEdge: false,
          base: -Infinity,
          value: -Infinity,
          time_s: Number.NaN,
        });
      }
    });
    this.count = this.marks.length;
    const size = engine.end.length;
    this.stepper = new DormandPrinceStepper(size);
    this.dense = new Float64Array(5 * size);
    this.state = new Float64Array(size);
    this.slope = new Float64Array(size);
  }

  /** Finds peaks and events on the engine's last flight, flown with these values (SI, radians); false when that fails. */
  locate(values: Float64Array): boolean {
    const { engine, marks, limits } = this;
    for (const mark of marks) {
      mark.step = -1;
      mark.base = -Infinity;
      mark.value = -Infinity;
      mark.time_s = Number.NaN;
    }
    limits.forEach(({ event }, i) => {
      if (event >= 0) marks[this.firstMark[i]!]!.step = this.stepBefore(event);
    });
    engine.observer = this;
    this.mode = 'look';
    this.segment = this.first;
    let done = engine.refly(values, this.first);
    this.mode = 'refine';
    this.segment = this.first;
    done &&= engine.refly(values, this.first);
    engine.observer = null;
    for (const mark of marks) {
      mark.base = mark.value;
      mark.onEdge = limits[mark.limit]!.event < 0 && mark.share === 1 && this.endsOnEdge(mark.step);
    }
    return done && marks.every(({ limit, step }) => limits[limit]!.event < 0 || step >= 0);
  }

  /** Before a flight over held steps under other values: what that flight does not come past stays as it was. Unitless. */
  begin(): void {
    for (const mark of this.marks) mark.value = mark.base;
    this.mode = 'read';
    this.engine.observer = this;
  }

  /** Writes the margins of the last flight, ≥ 0 where a limit is kept, from `offset` on; dimensionless. */
  write(out: Float64Array, offset: number): void {
    this.engine.observer = null;
    this.marks.forEach(({ limit, value }, i) => {
      const { kind, value: bound } = this.limits[limit]!;
      if (kind === 'altitude') out[offset + i] = (value - bound) / HEIGHT_m;
      else out[offset + i] = value === -Infinity ? 1 : 1 - value / bound;
    });
  }

  /** How each limit fares on the last flight located; SI. */
  readings(): Reading[] {
    return this.limits.map((limit, i) => {
      const own = this.marks.slice(this.firstMark[i], this.firstMark[i + 1] ?? this.marks.length);
      const worst = own.reduce((most, mark) => (mark.base > most.base ? mark : most));
      return { limit, value: worst.base, time_s: worst.time_s };
    });
  }

  /** Index of the limit behind a condition. Unitless. */
  limitOf(condition: number): number {
    return this.marks[condition]!.limit;
  }

  /** What a condition's multiplier (dimensionless) is worth per unit of the limit, 1/SI. */
  perUnit(limit: Limit): number {
    return limit.kind === 'altitude' ? -1 / HEIGHT_m : 1 / limit.value;
  }

  /** Reads the places that lie in a step, while it can still be interpolated; see `StepObserver`. SI. */
  taken(step: number, t: number, h: number, y: Float64Array): void {
    const { engine, marks } = this;
    if (this.mode === 'read') {
      for (const mark of marks) {
        if (mark.step !== step) continue;
        const share = mark.onEdge ? this.edgeShare(t, h, y) : mark.share;
        mark.value = this.measure(mark.limit, t, h, share, y);
      }
      return;
    }
    while (step >= engine.segmentSteps[this.segment + 1]!) this.segment += 1;
    engine.driver.stepper.writeDense(y, h, this.dense, 0);
    const span = Math.min(this.segment - this.first, this.spans - 1);
    this.limits.forEach(({ event }, i) => {
      const mark = marks[this.firstMark[i]! + (event < 0 ? span : 0)]!;
      if (event >= 0) {
        if (mark.step === step && this.mode === 'refine') this.take(mark, step, t, h, 1, y);
      } else if (this.mode === 'look') this.look(mark, step, t, h);
      else this.refine(mark, step, t, h, y);
    });
  }

  private look(mark: Mark, step: number, t: number, h: number): void {
    if (mark.step < 0) this.take(mark, step, t, h, 0);
    for (const share of LOOKS) {
      if (this.measure(mark.limit, t, h, share) > mark.value) this.take(mark, step, t, h, share);
    }
  }

  /** Between the looks on either side of the best one; where that is the end of a step, also in the next. */
  private refine(mark: Mark, step: number, t: number, h: number, y: Float64Array): void {
    const here = mark.step === step;
    const after = mark.step === step - 1 && mark.share === 1;
    if (!here && !after) return;
    const low = after ? 0 : Math.max(0, mark.share - 0.25);
    const high = after ? 0.25 : Math.min(1, mark.share + 0.25);
    const { limit } = mark;
    const share = findMaximum((at) => this.measure(limit, t, h, at), low, high, PLACE);
    const best = this.measure(limit, t, h, share) > mark.value ? share : here ? mark.share : Number.NaN;
    if (Number.isNaN(best)) return;
    this.take(mark, step, t, h, best, y);
    if (mark.value < (1 - NEAR) * this.limits[limit]!.value) return;
    const from = Math.max(low, best - AROUND);
    const to = Math.min(high, best + AROUND);
    const exact = findMaximum((at) => this.measure(limit, t, h, at, y), from, to, PLACE);
    if (this.measure(limit, t, h, exact, y) > mark.value) this.take(mark, step, t, h, exact, y);
  }

  private take(mark: Mark, step: number, t: number, h: number, share: number, y?: Float64Array): void {
    mark.step = step;
    mark.share = share;
    mark.value = this.measure(mark.limit, t, h, share, y);
    mark.time_s = t + share * h;
  }

  /** The quantity behind a limit at a share of the step in hand: by its interpolant or, from its start y, by itself; SI. */
  private measure(limit: number, t: number, h: number, share: number, y?: Float64Array): number {
    const { slope, stepper } = this;
    const { motion, driver } = this.engine;
    let { state } = this;
    if (y === undefined) interpolate(this.dense, 0, state.length, share, state);
    else if (share === 1) state = driver.stepper.yEnd;
    else {
      stepper.begin(motion, t, y);
      stepper.step(motion, t, y, share * h);
      state = stepper.yEnd;
    }
    motion.derivative(t + share * h, state, slope);
    const speed = motion.speedAir_mps;
    const pressure = 0.5 * motion.density_kgpm3 * speed * speed;
    switch (this.limits[limit]!.kind) {
      case 'dynamicPressure':
        return pressure;
      case 'pressureAngle':
        return pressure * this.angle_rad(state);
      case 'sensedAcceleration': {
        const { gravity } = motion;
        const ax = slope[3]! - gravity[0]!;
        const ay = slope[4]! - gravity[1]!;
        const az = slope[5]! - gravity[2]!;
        return Math.sqrt(ax * ax + ay * ay + az * az);
      }
      case 'heatFlux':
        return pressure * speed;
      case 'altitude':
        return motion.height_m;
    }
  }

  /** Whether a step ends where the smooth piece changes within a span. */
  private endsOnEdge(step: number): boolean {
    const { steps, segmentSteps, plan } = this.engine;
    if (step < 0 || step + 1 >= steps.count || steps.pieceOf(step) === steps.pieceOf(step + 1)) return false;
    for (let s = this.first; s <= plan.segments.length; s++) if (segmentSteps[s] === step + 1) return false;
    return true;
  }

  /** Share of the step in hand, near its end, at which the edge of its smooth piece is reached; by secants. */
  private edgeShare(t: number, h: number, y: Float64Array): number {
    const { stepper } = this;
    const { motion, driver } = this.engine;
    const margin = (share: number): number => {
      stepper.begin(motion, t, y);
      stepper.step(motion, t, y, share * h);
      return motion.pieceMargin(t + share * h, stepper.yEnd);
    };
    let share = 1;
    let here = motion.pieceMargin(t + h, driver.stepper.yEnd);
    let before = 1 - EDGE_TRY;
    let missBefore = margin(before);
    for (let i = 0; i < MOST_TRIES && Math.abs(here) > ON_EDGE && here !== missBefore; i++) {
      const next = share - (here * (share - before)) / (here - missBefore);
      before = share;
      missBefore = here;
      share = next;
      here = margin(share);
    }
    return share;
  }

  /** Angle between thrust and the air-relative velocity of a state that has just been evaluated. */
  private angle_rad(y: Float64Array): number {
    const { aim, gust, rotation_radps } = this.engine.motion;
    const ax = y[3]! + rotation_radps * y[1]! - gust[0]!;
    const ay = y[4]! - rotation_radps * y[0]! - gust[1]!;
    const az = y[5]! - gust[2]!;
    const cx = ay * aim[2]! - az * aim[1]!;
    const cy = az * aim[0]! - ax * aim[2]!;
    const cz = ax * aim[1]! - ay * aim[0]!;
    return Math.atan2(Math.sqrt(cx * cx + cy * cy + cz * cz), ax * aim[0]! + ay * aim[1]! + az * aim[2]!);
  }

  /** The held step that ends where an event comes about, −1 when none does. */
  private stepBefore(event: number): number {
    const { plan, segmentSteps } = this.engine;
    const at = plan.segments.findIndex((segment) => segment.fired.includes(event));
    if (at > this.first) return segmentSteps[at]! - 1;
    return plan.firedAtEnd.includes(event) ? segmentSteps[plan.segments.length]! - 1 : -1;
  }
}
