/** The settling of a body's propellant as plain data: verdict, margin, criterion, and spans for its strand. */
import type { CompiledStudy } from '../flight/compile.ts';
import type { FlightRecord } from '../flight/record.ts';
import type { SettlingState } from '../parting/settling/history.ts';
import { ignitionEvent, settlingBefore } from '../parting/settling/ignition.ts';
import type { StagingSettling } from '../parting/settling/staging.ts';

/** One state of all tanks together, mission times, s. */
export interface SettlingSpan {
  readonly start_s: number;
  readonly end_s: number;
  readonly state: SettlingState;
}

export interface TankTold {
  readonly id: string;
  readonly name: string;
  /** At ignition. */
  readonly state: SettlingState;
  readonly displaced_m: number;
  /** Sensed along the axis just before ignition, toward the nose positive, m/s². */
  readonly acceleration_mps2: number;
  readonly bond: number;
  /** Bond number over the critical one where a forward acceleration holds the liquid, else 0. */
  readonly margin: number;
  readonly holding_mps2: number;
}

export interface SettlingTold {
  /** Index of the body in the study. */
  readonly body: number;
  readonly state: SettlingState;
  readonly from_s: number;
  readonly ignition_s: number;
  /** First time from release on with all tanks settled; NaN when never before ignition. */
  readonly settledFrom_s: number;
  readonly criterion: string;
  readonly tanks: readonly TankTold[];
  readonly spans: readonly SettlingSpan[];
}

/** A settling of a flight of this study as plain data; SI, mission times. */
export function tellSettling(compiled: CompiledStudy, settling: StagingSettling): SettlingTold {
  const { state, from_s, ignition_s, settledFrom_s, criterion, tanks } = settling;
  return {
    body: compiled.bodies.findIndex(({ id }) => id === settling.body),
    ...{ state, from_s, ignition_s, settledFrom_s, criterion },
    tanks: tanks.map(({ history, state: own, displaced_m, bond, margin, holding_mps2 }) => ({
      id: history.fill.id,
      name: history.fill.tank.name,
      state: own,
      displaced_m,
      acceleration_mps2: history.samples[history.samples.length - 1]!.acceleration_mps2,
      bond,
      margin,
      holding_mps2,
    })),
    spans: settlingSpans(settling),
  };
}

/** The settling of every body with tanks that is lit in flight, before that; SI. Bodies lit on the ground wait for nothing. */
export function tellAllSettling(compiled: CompiledStudy, record: FlightRecord): SettlingTold[] {
  return compiled.bodies.flatMap(({ id, parent }): SettlingTold[] => {
    const event = parent < 0 ? null : ignitionEvent(compiled, id);
    if (event === null) return [];
    const settling = settlingBefore(compiled, record, id, event);
    return settling === null || !(settling.from_s > 0) ? [] : [tellSettling(compiled, settling)];
  });
}

/** The settling of all tanks together as spans for a strand: the worst state at each time, s. */
export function settlingSpans(settling: StagingSettling): SettlingSpan[] {
  const order: SettlingState[] = ['unsettled', 'moving', 'settled'];
  const spans: SettlingSpan[] = [];
  const first = settling.tanks[0]!.history.samples;
  first.forEach(({ time_s }, i) => {
    const states = settling.tanks.map(({ history }) => history.samples[i]!.state);
    const state = order.find((each) => states.includes(each))!;
    const last = spans[spans.length - 1];
    const end_s = first[i + 1]?.time_s ?? time_s;
    if (last?.state === state) spans[spans.length - 1] = { ...last, end_s };
    else if (end_s > time_s) spans.push({ start_s: time_s, end_s, state });
  });
  return spans;
}
