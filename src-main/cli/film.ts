/** `plumeline film`: records a study's film with an installed browser that nobody sees, over the loopback host. */
import { mkdtempSync, readFileSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, dirname, extname, join, resolve } from 'node:path';
import type { FilmFormat, FilmJob, FilmReport } from '../../core/contract/filmChannels.ts';
import { saveStudy } from '../../core/contract/load.ts';
import { describeValue } from '../../core/contract/problem.ts';
import { parseFrameRate, rateName, FRAME_RATES } from '../../core/replay/film/rate.ts';
import { csvText } from '../../core/study/sweepCsv.ts';
import { CAUTION } from '../../core/contract/caution.ts';
import { serveDesktop } from '../host/desktop.ts';
import { reasonOf } from '../host/failure.ts';
import { FilmSinks } from '../host/filmSinks.ts';
import { CallOff } from './callOff.ts';
import { browserArguments, findBrowsers, readMachine } from '../launch/browsers.mjs';
import { Children, howEnded } from '../launch/children.mjs';
import { startLoopback } from '../loopback/server.ts';
import { badInput, CommandFailure, EXIT } from './exit.ts';
import { readTime, type OpenedStudy } from './openStudy.ts';
import { Progress } from './progress.ts';
import type { Report } from './report.ts';
import type { Terminal } from './terminal.ts';

export interface FilmOptions {
  readonly out?: string;
  readonly size: string;
  readonly rate: string;
  readonly length: string;
  readonly sheet?: 'paper' | 'night';
  readonly codec?: 'av1';
  readonly alpha?: boolean;
  readonly still?: readonly string[];
  readonly sound?: string;
  readonly frameCode?: boolean;
  readonly anew?: boolean;
}

/** A browser that has not asked for its film within this time will not, ms. */
const PATIENCE_ms = 60_000;
/** A page that records is given so long to close what it writes when it is called off, ms. */
const LAST_WORD_ms = 10_000;
const STANDS =
  'What was recorded is kept: the same command goes on from there, and with --anew it begins again.';
const NOTHING = 'Nothing of it was kept.';
/** Names of sizes that people give. */
const SIZES: Readonly<Record<string, string>> = {
  '720p': '1280x720',
  '1080p': '1920x1080',
  '1440p': '2560x1440',
  '4k': '3840x2160',
};

interface Wish {
  readonly job: Omit<FilmJob, 'file'>;
  readonly out: string;
}

/** Reads the options. Throws CommandFailure with a sentence for what is not allowed. */
export async function readFilm(opened: OpenedStudy, options: FilmOptions): Promise<Wish> {
  const { out } = options;
  if (out === undefined) throw badInput('--out', 'nothing', 'the name of the film, such as film.webm');
  const size = /^(\d{3,4})x(\d{3,4})$/.exec(SIZES[options.size.toLowerCase()] ?? options.size);
  const [width_px = 0, height_px = 0] = size === null ? [] : [Number(size[1]), Number(size[2])];
  if (!(
    width_px >= 128 &&
    height_px >= 128 &&
    width_px <= 8192 &&
    height_px <= 8192 &&
    (width_px % 2) + (height_px % 2) === 0
  )) {
    const allowed = `${Object.keys(SIZES).join(', ')} or even numbers such as 1080x1920`;
    throw badInput('--size', describeValue(options.size), allowed);
  }
  const rate = parseFrameRate(options.rate);
  if (rate === undefined) {
    const allowed = `${Object.keys(FRAME_RATES).join(', ')} or a ratio such as 30000/1001`;
    throw badInput('--rate', describeValue(options.rate), allowed);
  }
  const length_s = await readTime('--length', options.length);
  if (!(length_s >= 20 && length_s <= 7200))
    throw badInput('--length', describeValue(options.length), 'a time from 20 s to 2 h');
  const stills_s =
    options.still === undefined
      ? null
      : await Promise.all(options.still.map((text) => readTime('--still', text)));
  if (stills_s?.some((time_s) => !(time_s >= 0 && time_s <= 7200)) === true)
    throw badInput('--still', 'a time out of the film', 'times from 0 s on');
  return {
    out: resolve(out),
    job: {
      study: saveStudy(opened.study),
      ...{ width_px, height_px, rate, length_s, stills_s },
      format: formatOf(out, options, stills_s !== null),
      sheet: options.sheet ?? null,
      frameCode: options.frameCode === true,
      anew: options.anew === true,
      sound: options.sound === undefined ? null : readSound(options.sound),
    },
  };
}

function formatOf(out: string, options: FilmOptions, stills: boolean): FilmFormat {
  const ending = extname(out).toLowerCase();
  const alpha = options.alpha === true;
  const formats: Record<string, FilmFormat | undefined> = {
    '.webm': alpha ? 'webm-alpha' : options.codec === 'av1' ? 'av1' : 'webm',
    '.mp4': alpha ? undefined : 'mp4',
    '.mov': alpha ? undefined : 'prores',
    '.png': alpha ? 'png-alpha' : 'png',
  };
  const format = formats[ending];
  if (format === undefined || (stills && ending !== '.png')) {
    const allowed = stills
      ? 'a name that ends in .png with --still'
      : `a name that ends in ${alpha ? '.webm or .png with --alpha' : '.webm, .mp4, .mov (ProRes, by ffmpeg) or .png (numbered pictures)'}`;
    throw badInput('--out', describeValue(basename(out)), allowed);
  }
  return format;
}

function readSound(path: string): FilmJob['sound'] {
  try {
    return { name: basename(path), data: readFileSync(path).toString('base64') };
  } catch (error) {
    throw new CommandFailure(EXIT.badInput, `--sound: “${path}” cannot be read: ${reasonOf(error)}.`);
  }
}

/** Records the film. Throws CommandFailure when it cannot be. */
export async function film(
  terminal: Terminal,
  root: string,
  opened: OpenedStudy,
  wish: Wish,
): Promise<Report> {
  const browsers = findBrowsers(process.platform, process.env);
  const browser = browsers[0];
  if (browser === undefined) {
    throw new CommandFailure(
      EXIT.fault,
      'A film is drawn by a browser of the Chromium family, and none was found: install Chromium, Chrome, Edge, Brave or Vivaldi, or name its program in PLUMELINE_BROWSER.',
    );
  }
  const begun_ms = terminal.now_ms();
  const { end, calledOff } = await record(terminal, root, wish, browser);
  if (end.kind === 'failed') {
    const codes = { noAnswer: EXIT.noAnswer, badFilm: EXIT.badInput, cannotRecord: EXIT.fault };
    throw new CommandFailure(calledOff ? EXIT.cancelled : codes[end.reason], end.sentences.join('\n'));
  }
  const { job, out } = wish;
  const took_s = (terminal.now_ms() - begun_ms) / 1000;
  const name = job.format.startsWith('png') ? `${basename(out, extname(out))}/` : basename(out);
  const beside = job.stills_s === null ? ', with captions, chapters, telemetry and cue sheet beside it' : '';
  return {
    exit: end.sentence === '' ? EXIT.done : EXIT.fault,
    ...(end.sentence === '' ? {} : { complaint: end.sentence }),
    json: () => ({
      command: 'film',
      ...{
        out,
        frames: end.frames,
        rate: `${job.rate.numerator}/${job.rate.denominator}`,
        format: job.format,
      },
      ...{ width_px: job.width_px, height_px: job.height_px },
    }),
    csv: () =>
      csvText(
        [CAUTION, `inputs ${opened.hash}`],
        ['quantity', 'value', 'unit'],
        [
          ['frames', end.frames, ''],
          ['width', job.width_px, 'px'],
          ['height', job.height_px, 'px'],
        ],
      ),
    people: () =>
      `${name}: ${end.frames} pictures of ${job.width_px}×${job.height_px} at ${rateName(job.rate)} a second${beside}; ` +
      `${took_s.toFixed(0)} s, in ${join(basename(dirname(out)), '.')}.`,
  };
}

type End = Extract<FilmReport, { kind: 'done' | 'failed' }>;

interface Outcome {
  readonly end: End;
  readonly calledOff: boolean;
}

async function record(
  terminal: Terminal,
  root: string,
  { job, out }: Wish,
  browser: string,
): Promise<Outcome> {
  const progress = new Progress(terminal, 'pictures', 5_000);
  let settle: (end: End) => void = () => undefined;
  const ended = new Promise<End>((resolve) => (settle = resolve));
  const broken = (sentence: string): void =>
    settle({ kind: 'failed', reason: 'cannotRecord', sentences: [sentence] });
  const heard = { recording: false, end: false };
  const callOff = new CallOff(terminal);
  const report = (told: FilmReport): boolean => {
    heard.recording ||= told.kind === 'recording';
    if (told.kind === 'recording' && told.done > 0) progress.update(told.done, told.of, 1000 * told.left_s);
    if (told.kind === 'done' || told.kind === 'failed') {
      heard.end = true;
      settle(told);
    }
    return !callOff.called();
  };
  const log = (line: string): void => terminal.err(`plumeline: ${line}\n`);
  const filmSinks = new FilmSinks();
  const serve = serveDesktop(
    root,
    { host: 'loopback', startStudy: null, choose: null, film: { job, out, report }, filmSinks },
    log,
  );
  const host = await startLoopback({
    serve,
    pageFolder: join(root, 'out/renderer'),
    grace_ms: 3_000,
    patience_ms: PATIENCE_ms,
    report: (fault) => log(fault instanceof Error ? (fault.stack ?? fault.message) : String(fault)),
  });
  const children = new Children();
  const profile = mkdtempSync(join(tmpdir(), 'plumeline-'));
  const close = async (): Promise<void> => {
    progress.end();
    await children.endAll();
    await host.close();
  };
  try {
    const args = browserArguments(host.issueTicket('/film.html'), profile, readMachine(), false);
    // In a group of its own: Ctrl-C, which a terminal sends to all of a group, is for the command, which lets the page end.
    const own = process.platform !== 'win32';
    const started = children.begin(browser, args, { stdio: 'ignore', detached: own });
    callOff.takesAlong(started.child);
    // A page that records hears of it by itself and tells how far it came; one that still solves has nothing to tell.
    callOff.watch(
      () => heard.recording,
      LAST_WORD_ms,
      () => broken('It was called off.'),
    );
    void started.ended.then((how) =>
      broken(how.fault?.message ?? `The browser ended before the film did, with ${howEnded(how)}.`),
    );
    void host.ended.then((why) =>
      broken(
        why === 'noWindow'
          ? 'The browser did not open the film within a minute.'
          : 'The browser closed before the film was recorded.',
      ),
    );
    const end = await ended;
    await close();
    const stands = await filmSinks.leave();
    const calledOff = callOff.called();
    if (end.kind === 'failed' && (stands || (calledOff && !heard.end)))
      return {
        end: { ...end, sentences: [`${end.sentences.join(' ')} ${stands ? STANDS : NOTHING}`] },
        calledOff,
      };
    return { end, calledOff };
  } finally {
    await close();
    callOff.close();
    // A browser's helpers may still be writing when it has ended.
    await rm(profile, { recursive: true, force: true, maxRetries: 20, retryDelay: 100 });
  }
}
