/** What a flight has found so far that its plan cannot know: the plan is made on from there. */
import type { HoldMode } from './planTypes.ts';

/** What a limit did during one segment. */
export interface HoldMark {
  /** Propellant saved, kg. */
  readonly saved_kg: number;
  /** Share of the commanded throttle at the segment's start and at its end. */
  readonly first: number;
  readonly last: number;
}

/** Times in s of mission time, NaN or nothing where not known; segments are those of the main flight, by index. */
export interface History {
  /** What the flight assumes of each event that others lead up to; NaN or nothing where it assumes none. */
  readonly assumed_s: readonly number[];
  /** Throttle under each hold that is met by a steady one, as a share of what is commanded, by event. */
  readonly levels: readonly number[];
  /** Of each event whose time is settled. */
  readonly happened_s: readonly number[];
  /** What the limit in force does at the start of each segment; `idle` where nothing is known. */
  readonly modes: readonly (HoldMode | undefined)[];
  /** Where the limit itself ended a segment, since what it does changed. */
  readonly turns_s: readonly (number | undefined)[];
  /** Of each segment during which a limit throttled. */
  readonly marks: readonly (HoldMark | undefined)[];
  /** Neighbouring histories do not fit together exactly: what little propellant is then short is let pass. */
  readonly loose: boolean;
  /** Whether the pieces that partings set free are followed too: on the way nobody needs them. */
  readonly pieces: boolean;
}

/** Nothing has been found: before the flight. Unitless. */
export const NO_HISTORY: History = {
  assumed_s: [],
  levels: [],
  happened_s: [],
  modes: [],
  turns_s: [],
  marks: [],
  loose: false,
  pieces: true,
};
