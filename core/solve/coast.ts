/** The coast before a last burn, where the solve has the times on both sides of it to move. */
import type { SequenceEvent } from '../contract/sequence.ts';
import type { CompiledStudy } from '../flight/compile.ts';

/** A coast that the solve shapes: events by index, and the engines that end it. */
export interface Coast {
  /** The cut before it, whose time is free. */
  readonly cut: number;
  /** What lights the last burn, and what ends that. */
  readonly light: number;
  readonly end: number;
  /** The engines lit then. */
  readonly body: string;
  readonly group: string;
  readonly engines: number;
  readonly throttle: number;
}

/**
 * The coast before a study's last burn: a cut at a free time, then nothing that burns until engines of the same body are lit,
 * also at a free time, and the final cut. Null where there is none. Unitless.
 */
export function findCoast({ study, plan }: CompiledStudy): Coast | null {
  const { events, finalCutoff } = study.sequence;
  const end = events.findIndex((event) => event.id === finalCutoff);
  const time = (event: number): number => plan.eventTimes_s[event]!;
  const isFree = ({ trigger }: SequenceEvent): boolean =>
    trigger.kind === 'time' && trigger.free !== undefined;
  let light = -1;
  events.forEach((event, i) => {
    if (event.action.kind !== 'light' || !isFree(event) || !(time(i) < time(end))) return;
    if (light < 0 || time(i) > time(light)) light = i;
  });
  const action = events[light]?.action;
  if (action?.kind !== 'light') return null;
  let cut = -1;
  events.forEach((event, i) => {
    if (event.action.kind !== 'cut' || event.action.body !== action.body || !isFree(event)) return;
    if (time(i) < time(light) && (cut < 0 || time(i) > time(cut))) cut = i;
  });
  if (cut < 0) return null;
  const silent = plan.segments.some(
    ({ start_s, end_s, flow_kgps, flowRate_kgps2 }) =>
      start_s >= time(cut) && end_s <= time(light) && flow_kgps === 0 && flowRate_kgps2 === 0,
  );
  if (!silent) return null;
  const { body, group, throttle } = action;
  const engines = action.engines ?? study.vehicle.bodies[body]!.engineGroups[group]!.count;
  return { cut, light, end, body, group, engines, throttle };
}
