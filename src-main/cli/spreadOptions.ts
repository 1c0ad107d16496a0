/** Which members and cases a spread has, from its options. */
import { gapEvent } from '../../core/study/gap.ts';
import { gapPath } from '../../core/study/numbers.ts';
import type { SpreadCase } from '../../core/study/spread/plan.ts';
import { badInput } from './exit.ts';
import { readChange, readTime, type OpenedStudy } from './openStudy.ts';
import { defaultThreads } from './pool.ts';
import type { SpreadRequest } from './spread.ts';

export interface SpreadOptions {
  readonly members: string;
  readonly seed: string;
  readonly gaps?: string;
  readonly case?: readonly string[];
  readonly event?: string;
  readonly indices?: boolean;
  readonly threads?: string;
  readonly out?: string;
  readonly resume?: boolean;
}

/** Members are counted by 32 bits. */
const MOST_MEMBERS = 2 ** 31;

/** Reads and checks the options. Throws CommandFailure with one sentence. */
export async function readSpread(opened: OpenedStudy, options: SpreadOptions): Promise<SpreadRequest> {
  const [, first = '', last = ''] = /^(?:(\d+):)?(\d+)$/.exec(options.members.trim()) ?? [];
  const [from, to] = [Number(first || '0'), Number(last || 'NaN')];
  if (!(to > from && to <= MOST_MEMBERS))
    throw badInput(
      '--members',
      JSON.stringify(options.members),
      'a number of members, or from:to, such as 1000:2000 for members 1000 to 1999',
    );
  return {
    cases: await readCases(opened, options),
    from,
    to,
    seed: readWhole('--seed', options.seed, 0),
    indices: options.indices === true,
    threads: options.threads === undefined ? defaultThreads() : readWhole('--threads', options.threads, 1),
    resume: options.resume === true,
    ...(options.out === undefined ? {} : { out: options.out }),
  };
}

export function readWhole(option: string, text: string, least: number): number {
  const value = Number(text);
  if (!/^\d+$/.test(text.trim()) || value < least || value > 0x7fffffff)
    throw badInput(option, JSON.stringify(text), `a whole number from ${least}`);
  return value;
}

async function readCases({ study }: OpenedStudy, options: SpreadOptions): Promise<SpreadCase[]> {
  const cases: SpreadCase[] = [];
  if (options.gaps !== undefined) {
    const path = gapPath(gapEvent(study, options.event));
    for (const text of options.gaps.split(',')) {
      const value = await readTime('--gaps', text);
      cases.push({ name: `gap of ${value} s`, changes: [{ path, value }] });
    }
  }
  for (const text of options.case ?? []) {
    const at = text.indexOf(':');
    if (at < 1)
      throw badInput(
        '--case',
        JSON.stringify(text),
        '"name: path=value; path=value", or "name:" for the study as it stands',
      );
    const changes = [];
    for (const change of text.slice(at + 1).split(';')) {
      if (change.trim() !== '') changes.push(await readChange(study, '--case', change));
    }
    cases.push({ name: text.slice(0, at).trim(), changes });
  }
  return cases.length > 0 ? cases : [{ name: 'as it stands', changes: [] }];
}
