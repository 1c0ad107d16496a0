/** How far a plan has come: all that changes as it is made. Copies are where another plan can go on from. */
import type { EngineGroup } from '../contract/vehicle.ts';
import type { Batch } from './commands.ts';
import type { History } from './history.ts';
import type { PlanIndex } from './planIndex.ts';
import { PlanPushes } from './planPushes.ts';
import type { SpinKick } from './spinTypes.ts';

/** Bodies that fly together, with their engines. */
export interface Flyer {
  bodies: readonly number[];
  batches: Batch[];
  readonly main: boolean;
  /** What a release from a turning stack, and others at the same instant, give a freed piece. */
  readonly kicks?: readonly SpinKick[];
}

/** Bodies set free by a parting. */
export interface Freed {
  readonly flyer: Flyer;
  readonly fromBranch: number;
  readonly fromSegment: number;
  readonly time_s: number;
}

/** What a plan is made under, beside the study. */
export interface PlanGiven {
  /** Assumed mission time of each root that has leads, s; NaN when not yet assumed. By event. */
  readonly assumed_s: readonly number[];
  readonly history: History;
  /** Whether what the flight finds may still come about. */
  readonly waits: boolean;
}

/** A plan in the making. Mission times in s, masses in kg. */
export interface PlanRun {
  readonly index: PlanIndex;
  readonly given: PlanGiven;
  readonly state: PlanState;
}

/** See the top of the file. By event or body where it is a list; NaN for a time that is not known. */
export class PlanState {
  flyer: Flyer = { bodies: [], batches: [], main: true };
  propellant_kg: number[] = [];
  fired_s: number[] = [];
  isVoid: boolean[] = [];
  commanded: Batch[][] = [];
  freed: Freed[] = [];
  /** Engine groups whose performance an event has changed, by body and group. */
  shifted = new Map<string, EngineGroup>();
  release_s = Number.NaN;
  lawBreaks_s: readonly number[] = [];
  lawEvent = -1;
  /** The hold in force on the main flight, −1 when there is none; and what holds have saved so far. */
  holdEvent = -1;
  saved_kg = 0;
  /** Releases from a turning stack at the start of the segment in hand, for the flyer in hand. */
  kicks: readonly SpinKick[] = [];
  /** No new law sets in on the main flight before, s. */
  held_s = -Infinity;
  /** Index of the branch in hand, −1 for the main flight. */
  branch = -1;
  /** The propellant event whose level is reached at the end of the segment in hand. */
  reached: { readonly event: number; readonly time_s: number } | null = null;
  /** Nothing that is due later than this has had a part in it yet, s. */
  looked_s = -Infinity;

  private constructor(readonly pushes: PlanPushes) {}

  /** Before anything has happened. Unitless. */
  static begin({ study, bodies, events, air }: PlanIndex): PlanState {
    const state = new PlanState(new PlanPushes(study, bodies, air));
    state.flyer.bodies = bodies.map((_, i) => i);
    state.propellant_kg = bodies.map((body) => body.load_kg);
    state.fired_s = events.map(() => Number.NaN);
    state.isVoid = events.map(() => false);
    state.commanded = events.map(() => []);
    return state;
  }

  /** The same, independent of what this one comes to. Unitless. */
  copy(): PlanState {
    const twin = new PlanState(this.pushes.copy());
    const twins = new Map<Batch, Batch>();
    const twinOf = (batch: Batch): Batch => {
      let other = twins.get(batch);
      if (other === undefined) {
        other = { ...batch, transient: batch.transient.clone() };
        twins.set(batch, other);
      }
      return other;
    };
    twin.flyer = { ...this.flyer, batches: this.flyer.batches.map(twinOf) };
    twin.propellant_kg = [...this.propellant_kg];
    twin.fired_s = [...this.fired_s];
    twin.isVoid = [...this.isVoid];
    twin.commanded = this.commanded.map((batches) => (batches.length === 0 ? batches : batches.map(twinOf)));
    twin.freed = this.freed.map((freed) => ({
      ...freed,
      flyer: { ...freed.flyer, batches: freed.flyer.batches.map(twinOf) },
    }));
    twin.shifted = new Map(this.shifted);
    twin.release_s = this.release_s;
    twin.lawBreaks_s = this.lawBreaks_s;
    twin.lawEvent = this.lawEvent;
    twin.holdEvent = this.holdEvent;
    twin.saved_kg = this.saved_kg;
    twin.kicks = this.kicks;
    twin.held_s = this.held_s;
    twin.branch = this.branch;
    twin.reached = this.reached;
    twin.looked_s = this.looked_s;
    return twin;
  }
}
