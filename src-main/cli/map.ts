/** `plumeline map`: the payload over two numbers of a study. */
import { CAUTION } from '../../core/contract/caution.ts';
import { planMap, type BandResult, type SweepAxis } from '../../core/study/numberSweep.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { fixed } from '../../core/units/figures.ts';
import { badInput, EXIT } from './exit.ts';
import { evenly } from './numberSweep.ts';
import { readChange, type OpenedStudy } from './openStudy.ts';
import { defaultThreads, openPool, runAll } from './pool.ts';
import { Progress } from './progress.ts';
import type { Report } from './report.ts';
import { readWhole } from './spreadOptions.ts';
import { section, table } from './tables.ts';
import { pause, type Terminal } from './terminal.ts';

export interface MapOptions {
  readonly x: string;
  readonly y: string;
  readonly points: string;
  readonly threads?: string;
}

export interface MapRequest {
  readonly x: SweepAxis;
  readonly y: SweepAxis;
  readonly threads: number;
}

export async function readMap(opened: OpenedStudy, options: MapOptions): Promise<MapRequest> {
  const points = readWhole('--points', options.points, 2);
  return {
    x: await readAxis(opened, '--x', options.x, points),
    y: await readAxis(opened, '--y', options.y, points),
    threads: options.threads === undefined ? defaultThreads() : readWhole('--threads', options.threads, 1),
  };
}

async function readAxis(
  { study }: OpenedStudy,
  option: string,
  text: string,
  points: number,
): Promise<SweepAxis> {
  const [, path, from, to] = /^([^=]+)=([^:]+):([^:]+)$/.exec(text) ?? [];
  if (path === undefined || from === undefined || to === undefined)
    throw badInput(
      option,
      JSON.stringify(text),
      'path=from:to, such as vehicle.bodies.upper.dryMass_kg=40 t:50 t',
    );
  const ends = [
    await readChange(study, option, `${path}=${from}`),
    await readChange(study, option, `${path}=${to}`),
  ];
  if (ends[0]!.value === ends[1]!.value) throw badInput(option, JSON.stringify(text), 'two different ends');
  return { path: ends[0]!.path, values: evenly(ends[0]!.value, ends[1]!.value, points) };
}

export async function map(
  terminal: Terminal,
  opened: OpenedStudy,
  { x, y, threads }: MapRequest,
): Promise<Report> {
  const tasks = planMap(opened.study, x, y, terminal.interrupted);
  await pause(terminal);
  const progress = new Progress(terminal);
  const pool = await openPool(threads);
  const bands: BandResult[] = [];
  let done = 0;
  try {
    await runAll(pool, 'band', tasks, terminal.interrupted, (result) => {
      bands.push(result);
      done += result.solves;
      progress.update(done, x.values.length * y.values.length);
    });
  } finally {
    progress.end();
    await pool.close();
  }
  await pause(terminal);
  bands.sort((p, q) => p.from - q.from);
  const payloads = bands.flatMap((band) => [...band.payloads_kg]);
  const columns = x.values.length;
  const reasons = bands.flatMap((band) =>
    band.reasons.map(({ at, message }) => ({ at: band.from * columns + at, message })),
  );
  const complaint =
    reasons.length > 0
      ? `no answer at ${reasons.length} of ${payloads.length} points; each says why.`
      : undefined;
  const points = payloads.map((payload_kg, at) => ({
    x: x.values[at % columns]!,
    y: y.values[Math.floor(at / columns)]!,
    payload_kg,
    reason: reasons.find((each) => each.at === at)?.message,
  }));
  return {
    exit: complaint === undefined ? EXIT.done : EXIT.noAnswer,
    ...(complaint === undefined ? {} : { complaint }),
    json: () => ({ command: 'map', x, y, points }),
    csv: () =>
      csvText(
        [CAUTION, `inputs ${opened.hash}`],
        [x.path, y.path, 'payload_kg', 'reason'],
        points.map((point) => [point.x, point.y, point.payload_kg, point.reason]),
      ),
    people: () => {
      const rows = y.values.map((value, row) => [
        String(value),
        ...payloads.slice(row * columns, (row + 1) * columns).map((kg) => fixed(kg, 0)),
      ]);
      const heading = `${opened.study.title}: payload, kg (no error band); across ${x.path}, down ${y.path}`;
      return [
        section(heading, table(['', ...x.values.map(String)], rows, terminal.colour), terminal.colour),
        ...reasons.slice(0, 5).map((each) => each.message),
      ].join('\n\n');
    },
  };
}
