/** Which points a sweep has, from its options. */
import { gapEvent } from '../../core/study/gap.ts';
import { STEERING_MODES, type SteeringMode } from '../../core/study/sweep.ts';
import { badInput } from './exit.ts';
import { readTime, withCheckedGap, type OpenedStudy } from './openStudy.ts';
import type { SweepRequest } from './sweep.ts';

export interface SweepOptions {
  readonly from: string;
  readonly to: string;
  readonly step: string;
  readonly gaps?: string;
  readonly modes: string;
  readonly reference?: string;
  readonly event?: string;
  readonly of?: string;
  readonly points?: string;
  readonly at?: string;
}

const MOST_POINTS = 1000;

/** Reads and checks the options. Throws CommandFailure with one sentence. */
export async function readSweep({ study }: OpenedStudy, options: SweepOptions): Promise<SweepRequest> {
  const gaps_s = options.gaps === undefined ? await readRange(options) : await readList(options.gaps);
  const event = gapEvent(study, options.event);
  const name = options.gaps === undefined ? '--from, --to' : '--gaps';
  for (const gap_s of [Math.min(...gaps_s), Math.max(...gaps_s)]) withCheckedGap(study, name, event, gap_s);
  const reference_s =
    options.reference === undefined
      ? gaps_s.includes(0)
        ? 0
        : gaps_s[0]!
      : await readTime('--reference', options.reference);
  withCheckedGap(study, '--reference', event, reference_s);
  return { gaps_s, modes: readModes(options.modes), reference_s, event };
}

async function readRange(options: SweepOptions): Promise<number[]> {
  const from = await readTime('--from', options.from);
  const to = await readTime('--to', options.to);
  const step = await readTime('--step', options.step);
  if (to < from) throw badInput('--to', `${to} s`, `${from} s, where the sweep starts, or more`);
  if (step <= 0) throw badInput('--step', `${step} s`, 'more than 0 s');
  // A step that fits but for rounding counts.
  const count = Math.floor((to - from) / step + 1e-9) + 1;
  if (count > MOST_POINTS)
    throw badInput('--step', `${step} s, which makes ${count} points`, `at most ${MOST_POINTS}`);
  return Array.from({ length: count }, (_, i) => Number((from + i * step).toFixed(9)));
}

async function readList(text: string): Promise<number[]> {
  const gaps: number[] = [];
  for (const part of text.split(',')) {
    const gap_s = await readTime('--gaps', part);
    if (gaps.includes(gap_s)) throw badInput('--gaps', `${gap_s} s twice`, 'each gap once');
    gaps.push(gap_s);
  }
  if (gaps.length > MOST_POINTS) throw badInput('--gaps', `${gaps.length} gaps`, `at most ${MOST_POINTS}`);
  return gaps;
}

export function readModes(text: string): SteeringMode[] {
  const modes = text.split(',').map((part) => {
    const mode = STEERING_MODES.find((known) => known === part.trim());
    if (mode === undefined)
      throw badInput('--modes', JSON.stringify(part.trim()), `some of ${STEERING_MODES.join(',')}`);
    return mode;
  });
  return [...new Set(modes)];
}
