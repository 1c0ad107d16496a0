/** Points that somebody observed of a flight: laid under the study's own, and inputs fitted to them. */
import { PointsError, readPoints, type ObservedPoint } from '../../core/study/calibration/observed.ts';
import { MOST_STEPS } from '../../core/study/calibration/calibrate.ts';
import type { Study } from '../../core/contract/study.ts';
import type { ComputeClient } from '../compute/client.ts';
import { Job } from './job.svelte.ts';

export interface ObservedFile {
  readonly name: string;
  readonly points: readonly ObservedPoint[];
}

export class ObservedWork {
  file = $state.raw<ObservedFile | null>(null);
  /** What is wrong with the table that was to be read last; empty when nothing is. */
  wrong = $state('');
  /** Paths of the inputs to fit. */
  chosen = $state.raw<readonly string[]>([]);
  /** Whether fitted values were taken into the study since the points were read. */
  taken = $state(false);
  /** The study's own flight under the points. */
  readonly flight: Job<'observe'>;
  readonly fit: Job<'calibrate'>;

  constructor(makeClient: () => ComputeClient) {
    this.flight = new Job('observe', makeClient);
    this.fit = new Job('calibrate', makeClient);
  }

  /** Another study was opened: the points may be of its flight too, what was fitted is not. */
  clear(): void {
    this.flight.clear();
    this.fit.clear();
    this.chosen = [];
    this.taken = false;
  }

  /** Reads a table of points; when it cannot be read that is said, and the points before it stay. */
  read(name: string, text: string): void {
    try {
      this.file = { name, points: readPoints(text) };
    } catch (error) {
      if (!(error instanceof PointsError)) throw error;
      this.wrong = `“${name}”, ${error.message}.`;
      return;
    }
    this.wrong = '';
    this.taken = false;
    this.flight.clear();
    this.fit.clear();
  }

  choose(path: string, wanted: boolean): void {
    const others = this.chosen.filter((each) => each !== path);
    this.chosen = wanted ? [...others, path] : others;
  }

  /** Lays the study's own flight under the points, unless it lies there. */
  look(study: Study): void {
    if (this.file === null || this.flight.study === study) return;
    void this.flight.ask(study, { study, points: this.file.points }, 1);
  }

  /** Fits the chosen inputs to the points. */
  askFit(study: Study): void {
    if (this.file === null || this.chosen.length === 0) return;
    this.taken = false;
    void this.fit.ask(study, { study, points: this.file.points, paths: this.chosen }, MOST_STEPS);
  }
}
