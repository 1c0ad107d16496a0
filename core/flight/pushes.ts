/**
 * What mechanisms of a link give the flight: forces along the axis, known functions of time once the release is known.
 *
 * Springs and pushers act over a stroke, and the plume of the upper stage over a distance, so their forces follow from the
 * bodies' motion apart. That is worked out in one dimension, with drag where a flight has told it (a plan is made before
 * anything flies; a recorded flight makes it again with the drag that it met), and handed to the plan as short spans in which
 * the force is linear in time, chosen so that impulse and its integral are met exactly at every end of a span: a flight
 * over these spans has the velocities and positions of the motion apart at their ends.
 */
import type { Link, Mechanism } from '../contract/parting.ts';
import { LinearTable } from '../math/interpolation.ts';
import { StepStore } from '../ode/dense.ts';
import { Driver, type Monitor } from '../ode/driver.ts';
import { SmoothSystem } from '../ode/system.ts';

/** A force along the thrust's direction on one body over a span of mission time, linear in it; negative pushes back. */
export interface Push {
  readonly body: number;
  readonly start_s: number;
  readonly end_s: number;
  readonly force_N: number;
  readonly rate_Nps: number;
  /** Propellant of motors that goes with it. */
  readonly flow_kgps: number;
}

/** A push that falls linearly with the gap, from release to the end of its stroke. */
export interface Stroke {
  readonly force_N: number;
  readonly slope_Npm: number;
  readonly stroke_m: number;
}

/** One of two bodies that move apart: mass and forward force as functions of mission time. */
export interface Mover {
  readonly mass_kg: (t_s: number) => number;
  readonly force_N: (t_s: number) => number;
}

/** Drag on two bodies just after they part, along the axis, N; it holds both back, so both are negative. */
export interface ReleaseAir {
  readonly above_N: number;
  readonly below_N: number;
}

/** The same by index of the body whose link is undone; what is not in it parts as if there were no air. */
export type AirAtRelease = ReadonlyMap<number, ReleaseAir>;

/** Two bodies let go at a time. */
export interface Apart {
  readonly release_s: number;
  readonly upper: Mover;
  readonly lower: Mover;
  readonly strokes: readonly Stroke[];
  /** Share of the upper body's thrust that its plume pushes the lower one back with, against the gap (m). */
  readonly impingement: LinearTable | null;
  /** Thrust of the upper body's engines, N. */
  readonly plume_N: (t_s: number) => number;
  /** Times at which a rate jumps, s. */
  readonly breaks_s: readonly number[];
}

/** No push of plume or stroke is followed longer after release, s. */
const LONGEST_s = 30;
/** Far above what an edge's root leaves, m, and far below what matters to a plume. */
const PAST_EDGE_m = 1e-6;
const STROKE_SPANS = 6;
const PLUME_SPANS = 10;
const X = 0;
const V = 1;
const STROKE = 2;
const PLUME = 4;

/** The strokes of a link's springs and pushers, all of a kind together; failed ones give nothing. N, N/m, m. */
export function strokesOf(link: Link): Stroke[] {
  return Object.values(link.mechanisms).flatMap((mechanism): Stroke[] => {
    if (mechanism.kind !== 'springs' && mechanism.kind !== 'pushers') return [];
    const { stroke_m, slope_Npm, force_N } = strokeOfOne(mechanism);
    const working = mechanism.count - mechanism.failed;
    return working === 0 ? [] : [{ stroke_m, force_N: working * force_N, slope_Npm: working * slope_Npm }];
  });
}

/** Force at release (N), its fall with the gap (N/m) and stroke (m) of one spring or pusher. */
export function strokeOfOne(mechanism: Extract<Mechanism, { kind: 'springs' | 'pushers' }>): Stroke {
  const { stroke_m } = mechanism;
  if (mechanism.kind === 'springs')
    return { stroke_m, force_N: mechanism.rate_Npm * stroke_m, slope_Npm: mechanism.rate_Npm };
  const end_N = mechanism.endForce_N ?? mechanism.force_N;
  return { stroke_m, force_N: mechanism.force_N, slope_Npm: (mechanism.force_N - end_N) / stroke_m };
}

/** The ring's table of plume push against the gap (m), or null where the link has none. Dimensionless. */
export function impingementOf(link: Link): LinearTable | null {
  for (const mechanism of Object.values(link.mechanisms)) {
    if (mechanism.kind !== 'ring' || mechanism.impingement === undefined) continue;
    return new LinearTable(mechanism.impingement.distance_m, mechanism.impingement.share);
  }
  return null;
}

/**
 * What a link's motors give when the release is at `release_s` (mission time) and nothing may act before `now_s`: a motor
 * whose lead reaches back further lights at once. Forward positive, N; `indexOf` names bodies by index.
 */
export function motorPushes(
  link: Link,
  release_s: number,
  now_s: number,
  indexOf: (id: string) => number,
): Push[] {
  return Object.values(link.mechanisms).flatMap((mechanism): Push[] => {
    if (mechanism.kind !== 'retro' && mechanism.kind !== 'settling') return [];
    const start_s = Math.max(now_s, release_s + mechanism.ignitionDelay_s);
    const axial_N = mechanism.count * mechanism.thrust_N * Math.cos((mechanism.cant_deg * Math.PI) / 180);
    return [
      {
        body: indexOf(mechanism.body),
        start_s,
        end_s: start_s + mechanism.burn_s,
        force_N: mechanism.kind === 'retro' ? -axial_N : axial_N,
        rate_Nps: 0,
        flow_kgps: (mechanism.count * mechanism.propellant_kg) / mechanism.burn_s,
      },
    ];
  });
}

class ApartSystem extends SmoothSystem {
  readonly dimension = 6;
  /** Which strokes still push. */
  readonly active: boolean[];
  private share = 0;
  constructor(readonly apart: Apart) {
    super();
    this.active = apart.strokes.map(() => true);
  }

  enter(gap_m: number): void {
    this.apart.strokes.forEach((stroke, i) => {
      this.active[i] = gap_m < stroke.stroke_m - 1e-9;
    });
    // An edge of the table is met from below to within the root's tolerance; what follows is the piece beyond it.
    this.share = this.apart.impingement?.pieceAt(gap_m + PAST_EDGE_m) ?? 0;
  }

  override derivative(t: number, y: Float64Array, dydt: Float64Array): void {
    const { apart, active } = this;
    const x = y[X]!;
    let stroke_N = 0;
    for (let i = 0; i < active.length; i++) {
      const each = apart.strokes[i]!;
      if (active[i]!) stroke_N += each.force_N - each.slope_Npm * x;
    }
    const plume_N =
      apart.impingement === null ? 0 : apart.impingement.evaluate(x, this.share) * apart.plume_N(t);
    dydt[X] = y[V]!;
    dydt[V] =
      (apart.upper.force_N(t) + stroke_N) / apart.upper.mass_kg(t) -
      (apart.lower.force_N(t) - stroke_N - plume_N) / apart.lower.mass_kg(t);
    dydt[STROKE] = stroke_N;
    dydt[STROKE + 1] = y[STROKE]!;
    dydt[PLUME] = plume_N;
    dydt[PLUME + 1] = y[PLUME]!;
  }
}

/** A stretch of force by its two integrals, ready to be cut to a body. */
interface Span {
  readonly start_s: number;
  readonly end_s: number;
  readonly force_N: number;
  readonly rate_Nps: number;
}

/** Forces of strokes and plume against mission time (s, N), both positive; `upper` and `lower` get them in their sense. */
export interface PushSpans {
  readonly strokes: readonly Span[];
  readonly plume: readonly Span[];
}

/**
 * Follows two bodies apart from rest, in one dimension, until no stroke and no plume pushes any more, they
 * touch again, or 30 s have gone. SI. Never fails: what could not be followed further pushes no more.
 */
export function followApart(apart: Apart): PushSpans {
  const { release_s, strokes, impingement } = apart;
  const nothing = { strokes: [], plume: [] };
  if (strokes.length === 0 && impingement === null) return nothing;
  const system = new ApartSystem(apart);
  const far_m = impingement === null ? 0 : impingement.xs[impingement.xs.length - 1]!;
  const stroke_m = Math.max(0, ...strokes.map((stroke) => stroke.stroke_m));
  const edges_m = [...strokes.map((stroke) => stroke.stroke_m), ...(impingement?.xs ?? [])];
  const marks_m = [...new Set(edges_m)].filter((x) => x > 0).sort((p, q) => p - q);
  const monitors: Monitor[] = [
    { direction: -1, value: (_t, y) => y[X]! + 1e-9 },
    ...marks_m.map((mark_m): Monitor => ({ direction: 1, value: (_t, y) => y[X]! - mark_m })),
  ];
  const driver = new Driver(6, {
    relative: 1e-10,
    absolute: Float64Array.of(1e-9, 1e-9, 1e-4, 1e-4, 1e-4, 1e-4),
    longestStep: 0.5,
    mostSteps: 20_000,
  });
  const steps = new StepStore(6);
  system.enter(0);
  driver.start(system, release_s, new Float64Array(6));
  const last_s = release_s + LONGEST_s;
  const stops_s = [...new Set([...apart.breaks_s, last_s])]
    .filter((t) => t > release_s && t <= last_s)
    .sort((p, q) => p - q);
  let strokeEnd_s = stroke_m > 0 ? Number.NaN : release_s;
  let plumeEnd_s = far_m > 0 ? Number.NaN : release_s;
  let stop = 0;
  while (stop < stops_s.length && (Number.isNaN(strokeEnd_s) || Number.isNaN(plumeEnd_s))) {
    const code = driver.advanceTo(system, stops_s[stop]!, monitors, steps);
    if (code === 'reached') stop += 1;
    else if (code !== 'event' || driver.firedMonitor === 0) break;
    else {
      const mark_m = marks_m[driver.firedMonitor - 1]!;
      if (mark_m === stroke_m) strokeEnd_s = driver.t;
      if (mark_m === far_m) plumeEnd_s = driver.t;
    }
    system.enter(driver.y[X]!);
    driver.restart(system);
  }
  if (steps.count === 0) return nothing;
  const end_s = driver.t;
  return {
    strokes: spans(steps, STROKE, release_s, Number.isNaN(strokeEnd_s) ? end_s : strokeEnd_s, STROKE_SPANS),
    plume: spans(steps, PLUME, release_s, Number.isNaN(plumeEnd_s) ? end_s : plumeEnd_s, PLUME_SPANS),
  };
}

/** Linear forces that have, over each span, the impulse and the integral of the impulse of the motion followed. */
function spans(steps: StepStore, at: number, start_s: number, end_s: number, count: number): Span[] {
  if (!(end_s > start_s)) return [];
  const before = new Float64Array(6);
  const after = new Float64Array(6);
  const whole = new Float64Array(6);
  steps.sample(end_s, whole);
  if (whole[at]! === 0) return [];
  return Array.from({ length: count }, (_, i) => {
    const from_s = start_s + ((end_s - start_s) * i) / count;
    const to_s = i + 1 === count ? end_s : start_s + ((end_s - start_s) * (i + 1)) / count;
    const h = to_s - from_s;
    steps.sample(from_s, before);
    steps.sample(to_s, after);
    const impulse = after[at]! - before[at]!;
    const moved = after[at + 1]! - before[at + 1]! - before[at]! * h;
    // With F = a + b τ: impulse = a h + b h²/2, moved = a h²/2 + b h³/6.
    const rate_Nps = (6 * impulse) / (h * h) - (12 * moved) / (h * h * h);
    return { start_s: from_s, end_s: to_s, force_N: impulse / h - 0.5 * rate_Nps * h, rate_Nps };
  });
}

/** Spans (N, s) as a push on one body, along the axis (`sense` 1) or against it (−1). */
export function pushesOn(spansOf: readonly Span[], body: number, sense: 1 | -1): Push[] {
  return spansOf.map(({ start_s, end_s, force_N, rate_Nps }) => ({
    body,
    start_s,
    end_s,
    force_N: sense * force_N,
    rate_Nps: sense * rate_Nps,
    flow_kgps: 0,
  }));
}
