/** `plumeline claim`: whether a claim of the study is true, and why. */
import { CAUTION } from '../../core/contract/caution.ts';
import { judgeClaim, type ClaimVerdict } from '../../core/study/claim/judge.ts';
import { findClaim, planClaim } from '../../core/study/claim/plan.ts';
import { headerOf } from '../../core/study/spread/header.ts';
import { summarise } from '../../core/study/spread/summary.ts';
import { SpreadTally } from '../../core/study/spread/tally.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { fixed } from '../../core/units/figures.ts';
import { EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import { defaultThreads } from './pool.ts';
import type { Report } from './report.ts';
import { solveMembers } from './spread.ts';
import { readWhole } from './spreadOptions.ts';
import { section, table } from './tables.ts';
import { pause, type Terminal } from './terminal.ts';

export interface ClaimOptions {
  readonly claim?: string;
  readonly members: string;
  readonly seed: string;
  readonly threads?: string;
}

export async function claim(
  terminal: Terminal,
  { study, hash }: OpenedStudy,
  options: ClaimOptions,
): Promise<Report> {
  const to = readWhole('--members', options.members, 1);
  const threads =
    options.threads === undefined ? defaultThreads() : readWhole('--threads', options.threads, 1);
  const plan = planClaim(study, findClaim(study, options.claim), {
    seed: readWhole('--seed', options.seed, 0),
    stop: terminal.interrupted,
  });
  await pause(terminal);
  const tally = new SpreadTally(headerOf(plan.spread));
  await solveMembers(terminal, plan.spread, tally, { from: 0, to, threads }, () => Promise.resolve());
  await pause(terminal);
  const summary = summarise(tally);
  const verdict = judgeClaim(plan, summary);
  const answered = verdict.verdict !== 'noAnswer';
  return {
    exit: answered ? EXIT.done : EXIT.noAnswer,
    ...(answered ? {} : { complaint: verdict.sentences.at(-1)! }),
    json: () => ({ command: 'claim', claim: plan.claim, ...verdict, summary }),
    csv: () =>
      csvText(
        [CAUTION, `inputs ${hash}`, ...verdict.sentences],
        ['variant', 'baseline_kg', 'change_kg', 'gainNominal', 'gainP5', 'gainMedian', 'gainP95', 'verdict'],
        verdict.variants.map(({ variant, baseline_kg, change_kg, gain, verdict: own }) => [
          ...[variant.id, baseline_kg, change_kg, gain.nominal, gain.p5, gain.median, gain.p95, own],
        ]),
      ),
    people: () => forPeople(verdict, terminal.colour),
  };
}

function forPeople({ sentences, notes, curve }: ClaimVerdict, colour: boolean): string {
  const parts = [sentences.slice(0, -1).join('\n'), section('Verdict', sentences.at(-1)!, colour)];
  if (curve !== null) {
    const percent = (share: number | undefined): string => fixed(100 * (share ?? Number.NaN), 1);
    const rows = curve.x.map((gap_s, i) => [
      fixed(gap_s, 1),
      percent(curve.low?.[i]),
      percent(curve.y[i]),
      percent(curve.high?.[i]),
    ]);
    parts.push(
      section(
        "Gain against the baseline's gap",
        table(['gap, s', '5 %', 'median, %', '95 %'], rows, colour),
        colour,
      ),
    );
  }
  if (notes.length > 0) parts.push(section('Notes', notes.join('\n'), colour));
  return parts.join('\n\n');
}
