/** `plumeline spread` and `plumeline merge`: an answer's band when the uncertain inputs vary together. */
import { existsSync } from 'node:fs';
import { CAUTION } from '../../core/contract/caution.ts';
import type { JsonValue } from '../../core/contract/json.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { headerOf } from '../../core/study/spread/header.ts';
import {
  mergeParts,
  mismatch,
  partOf,
  readPart,
  tallyOf,
  type SpreadPart,
} from '../../core/study/spread/part.ts';
import { planSpread, type SpreadCase, type SpreadPlan } from '../../core/study/spread/plan.ts';
import { missingRuns } from '../../core/study/spread/run.ts';
import { summarise, type QuantitySummary, type SpreadSummary } from '../../core/study/spread/summary.ts';
import { SpreadTally } from '../../core/study/spread/tally.ts';
import type { SpreadHeader } from '../../core/study/spread/header.ts';
import { fixed } from '../../core/units/figures.ts';
import { HostFailure } from '../host/failure.ts';
import { readTextFile, writeTextFile } from '../host/studyFiles.ts';
import { badInput, CommandFailure, EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import { openPool, runAll } from './pool.ts';
import { Progress } from './progress.ts';
import type { Report } from './report.ts';
import { section, table } from './tables.ts';
import { pause, type Terminal } from './terminal.ts';

export interface SpreadRequest {
  readonly cases: readonly SpreadCase[];
  readonly from: number;
  readonly to: number;
  readonly seed: number;
  readonly indices: boolean;
  readonly threads: number;
  /** The part file to write. */
  readonly out?: string;
  readonly resume: boolean;
}

/** Draws that a thread takes at a time: long enough to be worth handing over, short enough to end soon. */
const DRAWS_A_PIECE = 16;
/** The part file is written so often while the work goes on, ms. */
const KEEP_ms = 30_000;

export async function spread(
  terminal: Terminal,
  { study }: OpenedStudy,
  request: SpreadRequest,
): Promise<Report> {
  const plan = planSpread(study, { ...request, stop: terminal.interrupted });
  await pause(terminal);
  const header = headerOf(plan);
  const tally = request.resume ? await resumed(request.out, header) : new SpreadTally(header);
  const keep = async (): Promise<void> => {
    if (request.out !== undefined) await writePart(request.out, partOf(tally));
  };
  const done = await solveMembers(terminal, plan, tally, request, keep);
  await keep();
  if (terminal.interrupted())
    throw new CommandFailure(
      EXIT.cancelled,
      request.out === undefined
        ? 'cancelled; nothing was written'
        : `cancelled; ${request.out} holds ${done} members more and can be continued with --resume`,
    );
  return report(header, tally, 'spread', terminal.colour);
}

/** Solves the members that a tally lacks, on threads; says how many came in. Keeps now and then what is done. */
export async function solveMembers(
  terminal: Terminal,
  plan: SpreadPlan,
  tally: SpreadTally,
  { from, to, threads }: Pick<SpreadRequest, 'from' | 'to' | 'threads'>,
  keep: () => Promise<void>,
): Promise<number> {
  const todo = missingRuns(tally, from, to);
  const of = todo.reduce((sum, run) => sum + run[1] - run[0], 0);
  const draws = plan.indices ? plan.inputs.length + 2 : 1;
  const size = Math.max(1, Math.round(DRAWS_A_PIECE / (plan.cases.length * draws)));
  const progress = new Progress(terminal, 'members');
  const pool = await openPool(threads);
  let done = 0;
  let kept_ms = terminal.now_ms();
  try {
    await runAll(pool, 'members', pieces(plan, todo, size), terminal.interrupted, async (batch) => {
      tally.add(batch);
      done += batch.to - batch.from;
      progress.update(done, of);
      if (terminal.now_ms() - kept_ms < KEEP_ms) return;
      kept_ms = terminal.now_ms();
      await keep();
    });
  } finally {
    progress.end();
    await pool.close();
  }
  return done;
}

export async function merge(
  terminal: Terminal,
  names: readonly string[],
  out: string | undefined,
): Promise<{ report: Report; header: SpreadHeader }> {
  const parts: SpreadPart[] = [];
  for (const name of names) parts.push(await readPartFile(name));
  await pause(terminal);
  const whole = mergeParts(parts);
  if (out !== undefined) await writePart(out, whole);
  return { report: report(whole.header, tallyOf(whole), 'merge', terminal.colour), header: whole.header };
}

function* pieces<Plan>(
  plan: Plan,
  runs: readonly (readonly [number, number])[],
  size: number,
): Generator<{ plan: Plan; from: number; to: number }> {
  for (const [start, end] of runs) {
    for (let from = start; from < end; from += size) yield { plan, from, to: Math.min(end, from + size) };
  }
}

async function resumed(out: string | undefined, header: SpreadHeader): Promise<SpreadTally> {
  if (out === undefined)
    throw badInput('--resume', 'no --out', '--resume with --out and the part file to continue');
  // What was never begun is begun, so that a job can be given out again as it stands.
  if (!existsSync(out)) return new SpreadTally(header);
  const part = await readPartFile(out);
  const why = mismatch(header, part.header);
  if (why !== null) throw new CommandFailure(EXIT.badInput, `${out} cannot be continued: ${why}.`);
  return tallyOf(part);
}

async function readPartFile(name: string): Promise<SpreadPart> {
  let text: string;
  try {
    text = await readTextFile(name);
  } catch (error) {
    if (error instanceof HostFailure) throw new CommandFailure(EXIT.badInput, error.message);
    throw error;
  }
  let document: JsonValue;
  try {
    document = JSON.parse(text) as JsonValue;
  } catch (error) {
    throw new CommandFailure(
      EXIT.badInput,
      `${name}: received no JSON (${(error as Error).message}), allowed is a part file.`,
    );
  }
  return readPart(document, name);
}

async function writePart(path: string, part: SpreadPart): Promise<void> {
  try {
    await writeTextFile(path, `${JSON.stringify({ caution: CAUTION, ...part })}\n`);
  } catch (error) {
    if (error instanceof HostFailure) throw new CommandFailure(EXIT.fault, `--out: ${error.message}`);
    throw error;
  }
}

function report(header: SpreadHeader, tally: SpreadTally, command: string, colour: boolean): Report {
  const summary = summarise(tally);
  const answered = summary.solved > 0;
  return {
    exit: answered ? EXIT.done : EXIT.noAnswer,
    ...(answered ? {} : { complaint: 'no member has an answer in all cases; each says why.' }),
    json: () => ({ command, header, summary }),
    csv: () =>
      csvText(
        [
          CAUTION,
          `inputs ${header.inputsHash}`,
          `seed ${header.seed}, members ${runsText(summary)}, solved ${summary.solved} of ${summary.members}`,
        ],
        ['quantity', 'nominal', 'mean', 'errorOfMean', 'deviation', 'p5', 'median', 'p95', 'least', 'most'],
        summary.quantities.map((q) => [
          q.key,
          q.nominal,
          q.mean,
          q.errorOfMean,
          q.deviation,
          q.p5,
          q.median,
          q.p95,
          q.least,
          q.most,
        ]),
      ),
    people: () => forPeople(header, summary, colour),
  };
}

const runsText = ({ runs }: SpreadSummary): string =>
  runs.map(([from, to]) => `${from} to ${to - 1}`).join(', ');

function forPeople(header: SpreadHeader, summary: SpreadSummary, colour: boolean): string {
  const { cases, inputs } = header;
  const parts = [
    `${header.title}: ${summary.members} members (${runsText(summary)}), ${inputs.length} numbers varying together, seed ${header.seed}; ` +
      `${summary.solved} solved in ${cases.length === 1 ? 'the one case' : `all ${cases.length} cases, each case from the same inputs`}.`,
  ];
  const head = ['quantity ', 'nominal', 'mean', '± error', '5 %', 'median', '95 %'];
  const rows = summary.quantities.map((q) => {
    const [scale, decimals] = q.key.startsWith('gain') ? [100, 2] : [1, 0];
    const figure = (value: number): string => fixed(scale * value, decimals);
    return [
      nameOf(header, q.key),
      figure(q.nominal),
      figure(q.mean),
      fixed(scale * q.errorOfMean, decimals + 1),
      figure(q.p5),
      figure(q.median),
      figure(q.p95),
    ];
  });
  parts.push(section('Bands', table(head, rows, colour), colour));
  if (summary.members - summary.solved > 0) {
    const counts = Object.entries(summary.failureCounts)
      .map(([status, count]) => `${count} ${status}`)
      .join(', ');
    parts.push(
      [
        `${summary.members - summary.solved} of ${summary.members} members have no answer in every case and are not in the bands (solves: ${counts}). The first of them:`,
        ...summary.failures
          .slice(0, 5)
          .map((f) => `  member ${f.member}, ${cases[f.case]!.name}: ${f.message}`),
      ].join('\n'),
    );
  }
  for (const q of summary.quantities.filter((each) => !each.key.startsWith('gain')))
    parts.push(sharesSection(header, q, colour));
  if (!header.indices)
    parts.push(
      `Taking the variance apart by input (--indices) costs ${inputs.length + 2} solves a member and case instead of one.`,
    );
  return parts.join('\n\n');
}

/** The inputs that explain most of a quantity's variance. */
function sharesSection({ inputs, ...header }: SpreadHeader, q: QuantitySummary, colour: boolean): string {
  const size = (i: number): number => q.indices?.total[i] ?? q.linearShares[i]!;
  const order = inputs
    .map((_, i) => i)
    .sort((a, b) => size(b) - size(a))
    .slice(0, 6);
  const percent = (value: number | undefined): string => fixed(100 * (value ?? Number.NaN), 1);
  const rows = order.map((i) => [
    inputs[i]!.path,
    percent(q.linearShares[i]),
    ...(q.indices === null ? [] : [percent(q.indices.first[i]), percent(q.indices.total[i])]),
  ]);
  const head = ['input ', 'by its slope, %', ...(q.indices === null ? [] : ['first order, %', 'total, %'])];
  return section(
    `What the scatter comes from: ${nameOf({ inputs, ...header }, q.key)}`,
    table(head, rows, colour),
    colour,
  );
}

/** A quantity in words, with its unit. */
function nameOf({ cases }: SpreadHeader, key: string): string {
  const [kind, index] = key.split('.');
  const name = cases[Number(index)]?.name ?? '';
  switch (kind) {
    case 'payload_kg':
      return `${name}, kg`;
    case 'difference_kg':
      return `${name} less ${cases[0]!.name}, kg`;
    case 'gain':
      return `${name} over ${cases[0]!.name}, %`;
    default:
      return key;
  }
}
