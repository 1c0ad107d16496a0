/** The plan's side of mechanisms: which forces act on which bodies when, and what motors have burned. See `pushes.ts`. */
import type { Link } from '../contract/parting.ts';
import type { Study } from '../contract/study.ts';
import type { CompiledBody } from '../vehicle/structure.ts';
import { fullFlow_kgps, fullThrust_N, type Batch } from './commands.ts';
import type { Segment } from './planTypes.ts';
import {
  followApart,
  impingementOf,
  motorPushes,
  pushesOn,
  strokesOf,
  type AirAtRelease,
  type Mover,
  type Push,
  type PushSpans,
} from './pushes.ts';
import { spinKick } from './spin.ts';
import type { SpinKick } from './spinTypes.ts';

/** A link whose mechanisms the flight feels. */
interface Pushed {
  readonly body: number;
  readonly carrier: number;
  readonly link: Link;
  /** Index of the event that undoes it, −1 for none. */
  readonly event: number;
  /** Share of the thrust of the body's engines that is lost to the stack while joined. */
  readonly joinedShare: number;
  scheduled: boolean;
  parted: Release | null;
}

interface Release {
  readonly release_s: number;
  readonly above: readonly number[];
  readonly below: readonly number[];
  /** Mass of every body of the vehicle with its propellant, kg. */
  readonly mass_kg: readonly number[];
}

/** Forces of a vehicle's mechanisms as one plan is made. Empty, and without cost, where the links have none. */
export class PlanPushes {
  /** Links that push; empty for most vehicles. */
  private pushed: Pushed[] = [];
  /** All forces known so far. */
  pushes: Push[] = [];
  /** Motor propellant burned, kg, by body index. */
  spent_kg: number[];

  constructor(
    private readonly study: Study,
    private readonly bodies: readonly CompiledBody[],
    private readonly air: AirAtRelease,
  ) {
    this.spent_kg = bodies.map(() => 0);
    bodies.forEach(({ id, parent, data: { link } }, body) => {
      if (link?.parting !== 'pushed' || parent < 0 || Object.keys(link.mechanisms).length === 0) return;
      const event = study.sequence.events.findIndex(
        ({ action }) => action.kind === 'part' && action.link === id,
      );
      const table = impingementOf(link);
      const joinedShare = table === null ? 0 : table.evaluate(0, table.pieceAt(0));
      this.pushed.push({ body, carrier: parent, link, event, joinedShare, scheduled: false, parted: null });
    });
  }

  /**
   * Lights motors on these bodies whose release has become known: `releaseOf_s` gives the mission time (s) at which an
   * event is or was due, NaN when unknown. What comes too late lights at `t_s`.
   */
  schedule(flying: readonly number[], t_s: number, releaseOf_s: (event: number) => number): void {
    for (const each of this.pushed) {
      if (each.scheduled || each.event < 0 || !flying.includes(each.body)) continue;
      const release_s = releaseOf_s(each.event);
      if (Number.isFinite(release_s)) this.light(each, release_s, t_s);
    }
  }

  /** The same, independent of what this one comes to. Unitless. */
  copy(): PlanPushes {
    const twin = Object.create(PlanPushes.prototype) as PlanPushes;
    Object.assign(twin, this);
    twin.pushed = this.pushed.map((own) => ({ ...own }));
    twin.pushes = [...this.pushes];
    twin.spent_kg = [...this.spent_kg];
    return twin;
  }

  /** Whether motors or springs act at an event (index), as they do where it undoes their link. Unitless. */
  awaits(event: number): boolean {
    return this.pushed.some((own) => own.event === event);
  }

  private light(own: Pushed, release_s: number, now_s: number): void {
    own.scheduled = true;
    const indexOf = (id: string): number => this.bodies.findIndex((body) => body.id === id);
    this.pushes.push(...motorPushes(own.link, release_s, now_s, indexOf));
  }

  /**
   * The link of body `link` is undone at mission time t_s (s): springs and pushers act on both sides from now on.
   * `batches` are the engines of all bodies concerned, `propellant_kg` what is on board of each body of the vehicle. Returns
   * what a turning stack gives, for the side above; null where it does not turn. Throws PlanError as `spinKick`.
   */
  release(
    link: number,
    split: { above: readonly number[]; below: readonly number[] },
    batches: readonly Batch[],
    propellant_kg: readonly number[],
    t_s: number,
  ): SpinKick | null {
    const own = this.pushed.find((each) => each.body === link);
    if (own === undefined) return null;
    // Motors that light just now are part of it.
    if (!own.scheduled) this.light(own, t_s, t_s);
    const mass_kg = this.bodies.map((body, b) => body.dry_kg + propellant_kg[b]! - this.spent_kg[b]!);
    own.parted = { release_s: t_s, above: split.above, below: split.below, mass_kg };
    const { strokes } = this.follow(own, own.parted, batches);
    this.pushes.push(...pushesOn(strokes, own.body, 1), ...pushesOn(strokes, own.carrier, -1));
    const payloadBody = this.bodies.findIndex((body) => body.id === this.study.payload.ridesOn);
    return spinKick(this.bodies, link, split, mass_kg, propellant_kg, payloadBody);
  }

  /** How long after the release of body `link` no new steering law sets in, s. */
  hold_s(link: number): number {
    return this.pushed.find((each) => each.body === link)?.link.hold_s ?? 0;
  }

  /**
   * The plume that a freed piece feels from above: known only when all commands to the engines above are, so that `flown`
   * holds the segments of what flies above, and `batches` the engines of the piece at its release. Unitless.
   */
  feelPlumes(freed: readonly number[], flown: readonly Segment[], batches: readonly Batch[]): void {
    for (const own of this.pushed) {
      if (own.parted === null || !freed.includes(own.carrier)) continue;
      const { plume } = this.follow(own, own.parted, batches, flown);
      this.pushes.push(...pushesOn(plume, own.carrier, -1));
    }
  }

  private follow(
    own: Pushed,
    released: Release,
    all: readonly Batch[],
    flown: readonly Segment[] = [],
  ): PushSpans {
    const { release_s, above, below, mass_kg } = released;
    const payloadBody = this.bodies.findIndex((body) => body.id === this.study.payload.ridesOn);
    const air = this.air.get(own.body);
    const mover = (bodies: readonly number[], drag_N: number): Mover => {
      const batches = all.filter((batch) => bodies.includes(batch.body));
      const start_kg = bodies.reduce(
        (sum, b) => sum + mass_kg[b]!,
        bodies.includes(payloadBody) ? this.study.payload.mass_kg : 0,
      );
      const motors = this.pushes.filter((push) => push.flow_kgps > 0 && bodies.includes(push.body));
      const burned = (t_s: number): number =>
        motors.reduce(
          (sum, { start_s, end_s, flow_kgps }) =>
            sum + flow_kgps * Math.max(0, Math.min(t_s, end_s) - Math.max(release_s, start_s)),
          0,
        ) +
        batches.reduce(
          (sum, b) =>
            sum + fullFlow_kgps(b, 0.5 * (release_s + t_s)) * b.transient.integral_s(release_s, t_s),
          0,
        );
      return {
        mass_kg: (t_s) => start_kg - burned(t_s),
        force_N: (t_s) =>
          drag_N +
          thrust_N(batches, t_s) +
          motors.reduce((sum, m) => sum + (m.start_s <= t_s && t_s < m.end_s ? m.force_N : 0), 0),
      };
    };
    const engines = all.filter((batch) => batch.body === own.body);
    // Later commands have changed the engines above; what they have flown stands in the segments.
    const segments = flown.filter(({ end_s, bodies }) => end_s > release_s && bodies.includes(own.body));
    const payload_kg = above.includes(payloadBody) ? this.study.payload.mass_kg : 0;
    const motorsAbove = this.pushes.filter((push) => push.flow_kgps > 0 && above.includes(push.body));
    const upper: Mover = {
      mass_kg: (t_s) => {
        const segment = segmentAt(segments, t_s);
        const tau = t_s - segment.start_s;
        return segment.mass_kg + payload_kg - tau * (segment.flow_kgps + 0.5 * tau * segment.flowRate_kgps2);
      },
      force_N: (t_s) =>
        (air?.above_N ?? 0) +
        burning_N(segmentAt(segments, t_s), above, t_s) +
        motorsAbove.reduce((sum, m) => sum + (m.start_s <= t_s && t_s < m.end_s ? m.force_N : 0), 0),
    };
    const later = segments.length > 0;
    return followApart({
      release_s,
      upper: later ? upper : mover(above, air?.above_N ?? 0),
      lower: mover(below, air?.below_N ?? 0),
      strokes: strokesOf(own.link),
      impingement: impingementOf(own.link),
      plume_N: (t_s) =>
        later ? burning_N(segmentAt(segments, t_s), [own.body], t_s) : thrust_N(engines, t_s),
      breaks_s: [
        ...all.flatMap((batch) => breaksAfter(batch, release_s)),
        ...segments.map((segment) => segment.end_s),
        ...this.pushes.flatMap((push) => (push.flow_kgps > 0 ? [push.start_s, push.end_s] : [])),
      ],
    });
  }

  /** The next mission time after t_s at which a force on these bodies sets in or ends, s; +Infinity for none. */
  nextBreak_s(flying: readonly number[], t_s: number): number {
    let next = Infinity;
    for (const push of this.pushes) {
      if (!flying.includes(push.body)) continue;
      if (push.start_s > t_s) next = Math.min(next, push.start_s);
      else if (push.end_s > t_s) next = Math.min(next, push.end_s);
    }
    return next;
  }

  /** Force (N), its rate (N/s) and propellant flow (kg/s) of the mechanisms on these bodies from mission time t_s (s) on. */
  at(flying: readonly number[], t_s: number): { force_N: number; rate_Nps: number; flow_kgps: number } {
    const sum = { force_N: 0, rate_Nps: 0, flow_kgps: 0 };
    for (const push of this.pushes) {
      if (push.start_s > t_s || push.end_s <= t_s || !flying.includes(push.body)) continue;
      sum.force_N += push.force_N + push.rate_Nps * (t_s - push.start_s);
      sum.rate_Nps += push.rate_Nps;
      sum.flow_kgps += push.flow_kgps;
    }
    return sum;
  }

  /** Counts what motors on these bodies burn from t_s to next_s, between which nothing sets in or ends. */
  spend(flying: readonly number[], t_s: number, next_s: number): void {
    for (const { body, start_s, end_s, flow_kgps } of this.pushes) {
      if (start_s > t_s || end_s <= t_s || !flying.includes(body)) continue;
      this.spent_kg[body] = this.spent_kg[body]! + flow_kgps * (next_s - t_s);
    }
  }

  /** Dimensionless share of the thrust of a body's engines that moves these bodies: less where a joined body feels the plume. */
  feltShare(body: number, flying: readonly number[]): number {
    const own = this.pushed.find((each) => each.body === body);
    return own === undefined || !flying.includes(own.carrier) ? 1 : 1 - own.joinedShare;
  }
}

function segmentAt(segments: readonly Segment[], t_s: number): Segment {
  let found = segments[0]!;
  for (const segment of segments) if (segment.start_s <= t_s) found = segment;
  return found;
}

function burning_N({ burns, start_s }: Segment, of: readonly number[], t_s: number): number {
  let sum = 0;
  for (const burn of burns)
    if (of.includes(burn.body)) sum += burn.thrust_N + (t_s - start_s) * burn.thrustRate_Nps;
  return sum;
}

function thrust_N(batches: readonly Batch[], t_s: number): number {
  return batches.reduce((sum, batch) => sum + fullThrust_N(batch, t_s) * batch.transient.at(t_s), 0);
}

function breaksAfter(batch: Batch, from_s: number): number[] {
  const times: number[] = [];
  let t = batch.transient.nextBreak_s(from_s);
  while (t < Infinity) {
    times.push(t);
    t = batch.transient.nextBreak_s(t);
  }
  return times;
}
