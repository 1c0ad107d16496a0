/** A reported flight flown again at one level of drag, its steering fitted to the reported insertion. */
import type { Study } from '../../contract/study.ts';
import { compileStudy, startValues, type CompiledStudy } from '../../flight/compile.ts';
import { launchFrame } from '../../flight/launch.ts';
import { recordFlight, type FlightRecord } from '../../flight/record.ts';
import { spaceFixed, type SpaceFixed } from '../../flight/space.ts';
import { TrackReader, type Observation } from '../../flight/track.ts';
import { fitInsertion, type InsertionFit } from '../../solve/insertionFit.ts';
import type { ReportedFlight } from './report.ts';

type Level = 'low' | 'mid' | 'high';

/** A flight at one drag level, with what rows ask of it. */
export class Reflown {
  readonly compiled: CompiledStudy;
  readonly fit: InsertionFit;
  readonly record: FlightRecord;
  private readonly reader: TrackReader;

  constructor(
    study: Study,
    published: ReportedFlight,
    level: Level,
    start: Float64Array | null,
    wind?: Study['earth']['wind'],
  ) {
    const { drag, fit, insertion } = published;
    const aerodynamics = study.vehicle.aerodynamics.map((own, i) =>
      i < drag.arrangements
        ? { ...own, dragCoefficient: { ...own.dragCoefficient, value: [...drag[level]] } }
        : own,
    );
    const earth = wind === undefined ? study.earth : { ...study.earth, wind };
    this.compiled = compileStudy({ ...study, earth, vehicle: { ...study.vehicle, aerodynamics } });
    this.fit = fitInsertion(this.compiled, fit.paths, insertion, start ?? startValues(this.compiled));
    this.record = recordFlight(this.compiled, this.fit.values);
    const launch = launchFrame(this.compiled.site, this.fit.values[1]!);
    this.reader = new TrackReader(this.compiled, this.record.tracks[0]!, this.fit.values, launch);
  }

  /** Whether the fit came to an end and the flight was flown to its insertion. */
  get usable(): boolean {
    return this.fit.status === 'fitted' && this.record.status.code === 'flown';
  }

  /** Mission time of an event by its id, s; NaN when the flight never came to it. */
  time_s(event: string): number {
    const found = this.record.log.find((entry) => entry.id === event && entry.track === 'main');
    return found?.time_s ?? Number.NaN;
  }

  /** Everything about the flight at a mission time (s), at a jump after it unless `before`. SI, inertial. */
  at(time_s: number, before = false): Observation {
    return this.reader.at(time_s, before);
  }

  /** Position and velocity as the report gives them, at a mission time in s: m, m/s, degrees, space-fixed. */
  state(time_s: number): SpaceFixed {
    return spaceFixed(this.at(time_s).state, time_s, this.compiled.study.site);
  }

  /** Greatest value between two events, and when; looked for at both ends of every step. */
  greatest(from: string, to: string, value: (now: Observation) => number): { value: number; time_s: number } {
    const { steps } = this.record.tracks[0]!;
    const [start_s, end_s] = [this.time_s(from), this.time_s(to)];
    let best = { value: -Infinity, time_s: Number.NaN };
    const look = (time_s: number, before: boolean): void => {
      if (time_s < start_s || time_s > end_s || (time_s === end_s && !before)) return;
      const here = value(this.at(time_s, before));
      if (here > best.value) best = { value: here, time_s };
    };
    for (let i = 0; i < steps.count; i++) {
      look(steps.timeOf(i), false);
      look(steps.timeOf(i) + steps.lengthOf(i), true);
    }
    return best;
  }
}
