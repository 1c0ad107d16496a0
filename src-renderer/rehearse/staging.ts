/** The seconds around staging: what the stretched band shows first, and the gap as a dimension line. */
import type { StrandSet } from '../../core/replay/strands.ts';
import type { Answer } from '../state/results.svelte.ts';
import { fixed } from '../../core/units/figures.ts';

/** From a little before the first command of staging to well after the parting, s. */
export function stagingSpan(answer: Answer, set: StrandSet): { from_s: number; to_s: number } {
  const gap = answer.flight.gaps[0];
  const parting = set.joinings[1]?.time_s ?? 0.5 * (set.start_s + set.end_s);
  const ignition = gap === undefined ? parting : (happened_s(answer, gap.event) ?? parting);
  const cutoff = gap === undefined ? parting : ignition - gap.command_s;
  const from = Math.min(parting, ignition, cutoff);
  const to = Math.max(parting, ignition, cutoff);
  const length = Math.max(16, 2.2 * (to - from));
  return { from_s: Math.max(set.start_s, from - 0.3 * length), to_s: Math.min(set.end_s, to + 0.7 * length) };
}

/** The gap between last cut-off and ignition commands, s, with its words; null when the study has none. */
export function gapMark(answer: Answer): { from_s: number; to_s: number; text: string } | null {
  const gap = answer.flight.gaps[0];
  if (gap === undefined) return null;
  const ignition = happened_s(answer, gap.event);
  if (ignition === undefined) return null;
  return {
    from_s: ignition - gap.command_s,
    to_s: ignition,
    text: `${fixed(Math.abs(gap.command_s), 1)} s ${gap.command_s < 0 ? 'overlap' : 'gap'}`,
  };
}

/** When an event came about, s: as flown, since what waits for where the vehicle is has no time in the plan. */
function happened_s(answer: Answer, event: number): number | undefined {
  const id = answer.study.sequence.events[event]?.id;
  return answer.flight.log.find((entry) => entry.id === id)?.time_s;
}
