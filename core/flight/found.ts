/** Events that nobody commanded: found on a recorded track by looking for roots and peaks of its quantities. */
import { findMaximum } from '../math/extrema.ts';
import { findRoot } from '../math/roots.ts';
import type { Observation, TrackReader } from './track.ts';

export interface FoundEvent {
  readonly id: string;
  readonly name: string;
  readonly trigger: string;
  readonly time_s: number;
}

/** Looks into each step this many times, so that nothing within a step is missed. */
const LOOKS = 4;

/** Mach 1 (first rising) and max-q on the way up; times in seconds of mission time. */
export function findAscentEvents(reader: TrackReader): FoundEvent[] {
  const found: FoundEvent[] = [];
  const times = lookTimes(reader);
  const mach = firstRise(reader, times, (now) => now.mach - 1);
  if (mach !== null)
    found.push({ id: 'mach-1', name: 'Mach 1', trigger: 'speed passes that of sound', time_s: mach });
  const q = peak(reader, times, (now) => now.dynamicPressure_Pa);
  if (q !== null)
    found.push({ id: 'max-q', name: 'max-q', trigger: 'dynamic pressure is greatest', time_s: q });
  return found;
}

/** Apogee of a freed piece and the greatest dynamic pressure of its fall; times in seconds of mission time. */
export function findFallEvents(reader: TrackReader): FoundEvent[] {
  const { id } = reader.track;
  const found: FoundEvent[] = [];
  const times = lookTimes(reader);
  const apogee = firstRise(reader, times, (now) => -now.flightPathAngle_rad);
  if (apogee === null) return found;
  found.push({
    id: `${id}-apogee`,
    name: 'apogee',
    trigger: 'vertical speed falls through zero',
    time_s: apogee,
  });
  const falling = times.filter((t) => t >= apogee);
  const q = peak(reader, falling, (now) => now.dynamicPressure_Pa);
  if (q !== null) {
    found.push({
      id: `${id}-max-q`,
      name: 'max-q of the fall',
      trigger: 'dynamic pressure is greatest',
      time_s: q,
    });
  }
  return found;
}

function lookTimes(reader: TrackReader): number[] {
  const { steps } = reader.track;
  const times: number[] = [];
  for (let i = 0; i < steps.count; i++) {
    for (let k = 0; k < LOOKS; k++) times.push(steps.timeOf(i) + (k / LOOKS) * steps.lengthOf(i));
  }
  times.push(steps.end);
  return times;
}

function firstRise(
  reader: TrackReader,
  times: readonly number[],
  value: (now: Observation) => number,
): number | null {
  let before = times.length > 0 ? value(reader.at(times[0]!)) : Number.NaN;
  for (let i = 1; i < times.length; i++) {
    const after = value(reader.at(times[i]!));
    if (before < 0 && after >= 0) {
      return findRoot((t) => value(reader.at(t)), times[i - 1]!, times[i]!, 1e-9, before, after);
    }
    before = after;
  }
  return null;
}

/** Place of the greatest value when it lies inside, not at an end. */
function peak(
  reader: TrackReader,
  times: readonly number[],
  value: (now: Observation) => number,
): number | null {
  let best = -1;
  let most = -Infinity;
  times.forEach((t, i) => {
    const here = value(reader.at(t));
    if (here > most) {
      most = here;
      best = i;
    }
  });
  if (best <= 0 || best >= times.length - 1) return null;
  return findMaximum((t) => value(reader.at(t)), times[best - 1]!, times[best + 1]!, 1e-6);
}
