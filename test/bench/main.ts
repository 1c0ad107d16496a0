/** Measures every study in turn and writes the report to standard output. Started by run.mjs, which builds it. */
import { readFileSync, mkdirSync, writeFileSync } from 'node:fs';
import { cpus, loadavg } from 'node:os';
import { join } from 'node:path';
import { loadStudy } from '../../core/contract/load.ts';
import type { Study } from '../../core/contract/study.ts';
import { flightData, NotFlownElsewhere } from './flightData.ts';
import { heapGrowth } from './heap.ts';
import { difference, ReferenceProgram, type ReferenceRun } from './references.ts';
import { printReport } from './report.ts';
import type { ReferenceReport, Report, StudyReport, TaskReport } from './reportTypes.ts';
import { interleave, ratio, summarise, timeEach, type Contender } from './statistics.ts';
import { HELD_FLIGHT, makeSubject, ONE_FLIGHT, type Counts, type Subject, type Task } from './tasks.ts';

/** What run.mjs hands over. */
interface Orders {
  readonly studies: readonly string[];
  readonly folder: string;
  readonly rounds: number;
  readonly json: boolean;
  /** Programs to compare with, or the reason why there is none. */
  readonly c: string | { readonly missing: string };
  readonly python: string | { readonly missing: string };
  readonly pythonScript: string;
}

const C_FLIGHT = 'C';
const C_HELD = 'C, over held steps';
/** The flight takes at most this many times as long as the one in C, by the shortest times: those of an idle machine. */
const AIM_AGAINST_C = 2;
const PYTHON_RUNS = 3;
const HEAP_CALLS = 60;
/** The two flights differ by rounding, which grows by about 1e4 on the way up; beyond this they are not the same. */
const SAME_FLIGHT_m = 1e-3;
/** Work that is compared must be the same: the counts differ at most by this share, for a step more or less. */
const SAME_WORK = 0.02;
/** What the tolerance of 1e-9 lets through when kinks are stepped across; beyond this one of the two flies wrong. */
const SAME_VEHICLE_m = 10;

class References {
  readonly c: ReferenceProgram | null;
  readonly python: readonly { readonly name: string; readonly program: ReferenceProgram }[];
  readonly missing: ReferenceReport[] = [];

  constructor(orders: Orders, data: string | { readonly missing: string }) {
    const reason = typeof data === 'string' ? null : data.missing;
    const lacking = (name: string, why: string): void => {
      this.missing.push({ name, measured: false, reason: why });
    };
    if (typeof data === 'string' && typeof orders.c === 'string')
      this.c = new ReferenceProgram(orders.c, [data]);
    else {
      this.c = null;
      lacking(C_FLIGHT, reason ?? (orders.c as { missing: string }).missing);
    }
    const { python } = orders;
    this.python =
      typeof data === 'string' && typeof python === 'string'
        ? ['RK45', 'DOP853'].map((method) => ({
            name: `SciPy, ${method}`,
            program: new ReferenceProgram(python, [orders.pythonScript, data, method]),
          }))
        : [];
    if (this.python.length === 0) lacking('SciPy', reason ?? (python as { missing: string }).missing);
  }

  close(): void {
    this.c?.close();
    for (const { program } of this.python) program.close();
  }
}

async function measure(study: Study, index: number, orders: Orders): Promise<StudyReport> {
  const subject = makeSubject(study);
  const references = new References(orders, writeData(subject, join(orders.folder, `flight-${index}.txt`)));
  try {
    const last = new Map<string, ReferenceRun>();
    const contenders = contend(subject, references.c, last);
    const counts = new Map<string, Counts>();
    const counted = contenders.map(({ name, run }) => ({
      name,
      run: async () => {
        const row = await run();
        const task = subject.tasks.find((each) => each.name === name);
        if (task !== undefined) counts.set(name, { ...task.counts() });
        return row;
      },
    }));
    const times = await interleave(counted, orders.rounds);
    const reports: ReferenceReport[] = [];
    for (const [name, run] of last) {
      checkWork(name, run, counts.get(name === C_FLIGHT ? ONE_FLIGHT : HELD_FLIGHT)!);
      reports.push(compare(name, run, times.get(name)!.flat(), subject, SAME_FLIGHT_m));
    }
    for (const { name, program } of references.python) {
      const run = await program.run('fly', PYTHON_RUNS);
      reports.push(compare(name, run, run.times_ms, subject, SAME_VEHICLE_m));
    }
    return {
      title: study.title,
      firstSolve_ms: subject.firstSolve_ms,
      tasks: subject.tasks.map((task) => reportTask(task, times, counts.get(task.name)!)),
      heap: await heaps(subject),
      references: [...reports, ...references.missing],
    };
  } finally {
    references.close();
  }
}

function writeData(subject: Subject, path: string): string | { missing: string } {
  try {
    writeFileSync(path, flightData(subject.compiled, subject.values));
    return path;
  } catch (error) {
    if (error instanceof NotFlownElsewhere) return { missing: `the references do not know ${error.message}` };
    throw error;
  }
}

/** Each task, and the C runs right behind the two that they are compared with. */
function contend(subject: Subject, c: ReferenceProgram | null, last: Map<string, ReferenceRun>): Contender[] {
  const inC = (name: string, command: 'fly' | 'refly', batch: number): Contender => ({
    name,
    run: async () => {
      const run = await c!.run(command, batch);
      last.set(name, run);
      return run.times_ms;
    },
  });
  return subject.tasks.flatMap((task) => {
    const own = { name: task.name, run: () => timeEach(task.batch, task.run) };
    if (c === null) return [own];
    if (task.name === ONE_FLIGHT) return [own, inC(C_FLIGHT, 'fly', task.batch)];
    if (task.name === HELD_FLIGHT) return [own, inC(C_HELD, 'refly', task.batch)];
    return [own];
  });
}

/** Throws when the reference does not do our flight's work: a ratio of their times would compare two things. */
function checkWork(name: string, { rightHandSides }: ReferenceRun, counts: Counts): void {
  const own = counts['right-hand sides']!;
  if (!(Math.abs(rightHandSides - own) <= SAME_WORK * own)) {
    throw new Error(
      `${name}: it calls the right-hand side ${rightHandSides} times and we ${own}; it is no longer the same algorithm`,
    );
  }
}

/** Throws when the reference's flight is not ours: its time would then say nothing. */
function compare(
  name: string,
  run: ReferenceRun,
  times_ms: readonly number[],
  { engine, values }: Subject,
  allowed_m: number,
): ReferenceReport {
  engine.fly(values);
  const apart = difference(engine.end, run.end);
  if (!(apart.position_m <= allowed_m)) {
    throw new Error(
      `${name}: its flight ends ${apart.position_m} m from ours; at most ${allowed_m} m is the same flight`,
    );
  }
  const { rightHandSides, acceptedSteps, rejectedSteps } = run;
  return {
    name,
    measured: true,
    times: summarise(times_ms),
    rightHandSides,
    acceptedSteps,
    rejectedSteps,
    ...apart,
  };
}

function reportTask(task: Task, times: Map<string, number[][]>, counts: Counts): TaskReport {
  const own = times.get(task.name)!;
  const inC = times.get(task.name === ONE_FLIGHT ? C_FLIGHT : task.name === HELD_FLIGHT ? C_HELD : '');
  const against = inC === undefined ? null : ratio(own, inC);
  const summary = summarise(own.flat());
  let aim: TaskReport['aim'] = null;
  if (task.aim_ms !== undefined) aim = { text: `${task.aim_ms} ms`, met: summary.median_ms <= task.aim_ms };
  if (task.name === ONE_FLIGHT) {
    aim = { text: `${AIM_AGAINST_C} × C`, met: against === null ? null : against.min <= AIM_AGAINST_C };
  }
  return { name: task.name, times: summary, counts, ratio: against, aim };
}

async function heaps({ tasks }: Subject): Promise<StudyReport['heap']> {
  const result: { name: string; perCall_B: number | null }[] = [];
  for (const { name, run } of tasks.filter((task) => task.name === ONE_FLIGHT || task.name === HELD_FLIGHT)) {
    result.push({ name, perCall_B: (await heapGrowth(HEAP_CALLS, run))?.perCall_B ?? null });
  }
  return result;
}

function load(path: string): Study {
  const result = loadStudy(readFileSync(path, 'utf8'));
  if (!result.ok) throw new Error(`${path}: ${result.problems.map((p) => p.sentence).join('\n')}`);
  return result.study;
}

const orders = JSON.parse(process.argv[2] ?? '') as Orders;
mkdirSync(orders.folder, { recursive: true });
const studies: StudyReport[] = [];
for (const [index, path] of orders.studies.entries()) studies.push(await measure(load(path), index, orders));
const report: Report = {
  machine: { node: process.version, processor: cpus()[0]!.model.trim(), load: loadavg()[0]! },
  rounds: orders.rounds,
  studies,
};
process.stdout.write(orders.json ? `${JSON.stringify(report, null, 2)}\n` : printReport(report));
