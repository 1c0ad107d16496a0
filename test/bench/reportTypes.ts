/** What a run of the measurements tells: for people as tables, for machines as JSON. */
import type { Times } from './statistics.ts';
import type { Counts } from './tasks.ts';

export interface TaskReport {
  readonly name: string;
  readonly times: Times;
  readonly counts: Counts;
  readonly ratio: { readonly median: number; readonly min: number } | null;
  readonly aim: { readonly text: string; readonly met: boolean | null } | null;
}

export type ReferenceReport =
  | { readonly name: string; readonly measured: false; readonly reason: string }
  | {
      readonly name: string;
      readonly measured: true;
      readonly times: Times;
      readonly rightHandSides: number;
      readonly acceptedSteps: number;
      readonly rejectedSteps: number;
      readonly position_m: number;
      readonly speed_mps: number;
    };

export interface StudyReport {
  readonly title: string;
  /** The first solve of the study, ms: that of a fresh process when the study is the first. */
  readonly firstSolve_ms: number;
  readonly tasks: readonly TaskReport[];
  readonly heap: readonly { readonly name: string; readonly perCall_B: number | null }[];
  readonly references: readonly ReferenceReport[];
}

export interface Report {
  readonly machine: { readonly node: string; readonly processor: string; readonly load: number };
  readonly rounds: number;
  readonly studies: readonly StudyReport[];
}
