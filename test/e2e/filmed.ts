/** Films recorded by the built command, and what a decoder finds in them. */
import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { chromium, type Browser, type Page } from 'playwright-core';
import type * as Mediabunny from 'mediabunny';
import { loadStudy, saveStudy } from '../../core/contract/load.ts';
import type { Film } from '../../core/contract/film.ts';
import { CODE_BITS, decodeFrame } from '../../core/replay/film/frameCode.ts';

const root = join(import.meta.dirname, '../..');
const PROGRAMS = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'];

/** Three seconds of the heavy demo: a card, the climb at some 60 times the pace, a jump, and staging in real time. */
export const SHORT_FILM: Film = {
  sheet: 'paper',
  length_s: 3,
  cues: [
    { at_s: 0, moment: event('liftoff', -1), arrive: 'run', plate: 'title', caption: '', figures: false },
    {
      at_s: 0.4,
      moment: event('liftoff'),
      arrive: 'run',
      plate: 'map',
      caption: 'Up with {payload}.',
      figures: true,
    },
    { at_s: 1.4, moment: event('max-q'), arrive: 'run', pointer: { kind: 'knot', event: 'max-q' } },
    { at_s: 1.8, moment: event('separation', -0.5), arrive: 'jump', plate: 'staging', caption: 'Apart.' },
    { at_s: 2.8, moment: event('separation', 0.5), arrive: 'run' },
  ],
};

function event(id: string, offset_s = 0): Film['cues'][number]['moment'] {
  return { kind: 'event', event: id, offset_s };
}

/** Writes the heavy demo with a film into a folder; the path of the study. */
export function filmedStudy(folder: string, film: Film): string {
  const loaded = loadStudy(readFileSync(join(root, 'assets/demos/heavy.plumeline.json'), 'utf8'));
  if (!loaded.ok) throw new Error(loaded.problems[0]!.sentence);
  mkdirSync(folder, { recursive: true });
  const path = join(folder, 'filmed.plumeline.json');
  writeFileSync(path, saveStudy({ ...loaded.study, film }));
  return path;
}

interface Ended {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

/** Runs `plumeline film` as it is started. */
export function film(args: readonly string[], env: NodeJS.ProcessEnv = {}): Promise<Ended> {
  return startFilm(args, env).ended;
}

/** Begins `plumeline film`, for whoever means to disturb it. */
export function startFilm(
  args: readonly string[],
  env: NodeJS.ProcessEnv = {},
): { child: ChildProcess; ended: Promise<Ended> } {
  const child = spawn(process.execPath, [join(root, 'out/main/cli.js'), 'film', ...args], {
    env: { ...process.env, ...env },
    // A group of its own, as a shell gives each command: what a terminal sends to it reaches nobody else.
    detached: true,
  });
  const ended = new Promise<Ended>((resolve, reject) => {
    let out = '';
    let err = '';
    child.stdout.on('data', (chunk: Buffer) => (out += chunk.toString()));
    child.stderr.on('data', (chunk: Buffer) => (err += chunk.toString()));
    child.on('error', reject);
    child.on('close', (code) => resolve({ code: code ?? 1, out, err }));
  });
  return { child, ended };
}

/** What a process has begun. */
export function childrenOf(pid: number): number[] {
  const list = readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8').trim();
  return list === '' ? [] : list.split(/\s+/).map(Number);
}

/** Kills what a process has begun, as a machine does that runs out of memory. */
export function killChildren(pid: number): void {
  for (const child of childrenOf(pid)) process.kill(child, 'SIGKILL');
}

export interface Decoded {
  readonly codec: string;
  readonly width: number;
  readonly height: number;
  readonly frames: number;
  /** Of each frame, s. */
  readonly timestamps_s: number[];
  readonly duration_s: number;
  readonly colour: {
    primaries: string | null;
    transfer: string | null;
    matrix: string | null;
    fullRange: boolean | null;
  };
  readonly canBeTransparent: boolean;
  readonly tags: { title?: string; description?: string; comment?: string };
  readonly sound: { codec: string; duration_s: number } | null;
  /** What the squares at the foot of each frame say; null where they do not check. */
  readonly codes: ({ frame: number; mission_s: number } | null)[];
  /** Alpha of the frame in the middle of the film: at a point of nothing, and the greatest anywhere. */
  readonly alpha: { corner: number; most: number };
}

/** A browser that decodes films, apart from the one that records them. */
export class Decoder {
  private constructor(
    private readonly browser: Browser,
    private readonly page: Page,
  ) {}

  static async open(): Promise<Decoder> {
    const executablePath = PROGRAMS.find((path) => existsSync(path));
    if (executablePath === undefined)
      throw new Error('No Chromium-family browser: install the package "chromium".');
    const browser = await chromium.launch({
      executablePath,
      args: ['--no-sandbox', '--disable-gpu', '--disable-quic'],
    });
    const page = await browser.newPage();
    // An address of this machine: decoders are to be had in a secure place alone.
    await page.route('http://127.0.0.1:9/**', (route) =>
      route.fulfill({ contentType: 'text/html', body: '<!doctype html><title>decoder</title>' }),
    );
    await page.goto('http://127.0.0.1:9/');
    await page.addScriptTag({ path: join(root, 'node_modules/mediabunny/dist/bundles/mediabunny.cjs') });
    return new Decoder(browser, page);
  }

  close(): Promise<void> {
    return this.browser.close();
  }

  async decode(path: string): Promise<Decoded> {
    const data = readFileSync(path).toString('base64');
    const found = await this.page.evaluate(readFilm, { data, bits: CODE_BITS });
    return { ...found, codes: found.squares.map(decodeFrame) };
  }
}

/** Runs in the page. */
async function readFilm({
  data,
  bits,
}: {
  data: string;
  bits: number;
}): Promise<Omit<Decoded, 'codes'> & { squares: boolean[][] }> {
  const { Mediabunny: m } = globalThis as unknown as { Mediabunny: typeof Mediabunny };
  const bytes = Uint8Array.from(atob(data), (c) => c.charCodeAt(0));
  const input = new m.Input({ formats: m.ALL_FORMATS, source: new m.BufferSource(bytes) });
  const track = (await input.getPrimaryVideoTrack())!;
  const width = await track.getDisplayWidth();
  const height = await track.getDisplayHeight();
  const squares: boolean[][] = [];
  const timestamps_s: number[] = [];
  const alphas: { corner: number; most: number }[] = [];
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d', { willReadFrequently: true })!;
  const size = Math.floor(width / (bits + 2));
  let duration_s = 0;
  for await (const sample of new m.VideoSampleSink(track).samples()) {
    timestamps_s.push(sample.timestamp);
    duration_s = sample.timestamp + sample.duration;
    context.clearRect(0, 0, width, height);
    sample.draw(context, 0, 0);
    const foot = context.getImageData(0, height - Math.ceil(size / 2), width, 1).data;
    squares.push(Array.from({ length: bits }, (_, i) => foot[4 * Math.floor((i + 1.5) * size)]! > 127));
    const whole = context.getImageData(0, 0, width, height).data;
    let most = 0;
    for (let i = 3; i < whole.length; i += 4) most = Math.max(most, whole[i]!);
    alphas.push({ corner: whole[4 * (width * 2 + width - 2) + 3]!, most });
    sample.close();
  }
  const colour = await track.getColorSpace();
  const sound = await input.getPrimaryAudioTrack();
  const tags = await input.getMetadataTags();
  return {
    codec: (await track.getCodec())!,
    width,
    height,
    frames: timestamps_s.length,
    timestamps_s,
    duration_s,
    colour: {
      primaries: colour.primaries ?? null,
      transfer: colour.transfer ?? null,
      matrix: colour.matrix ?? null,
      fullRange: colour.fullRange ?? null,
    },
    canBeTransparent: await track.canBeTransparent(),
    tags: {
      ...(tags.title === undefined ? {} : { title: tags.title }),
      ...(tags.description === undefined ? {} : { description: tags.description }),
      ...(tags.comment === undefined ? {} : { comment: tags.comment }),
    },
    sound:
      sound === null ? null : { codec: (await sound.getCodec())!, duration_s: await sound.computeDuration() },
    squares,
    alpha: alphas[Math.floor(alphas.length / 2)]!,
  };
}

/** A tone of 440 Hz as a WAV file of 16 bits, mono, 48 000 samples a second. */
export function tone(length_s: number): Buffer {
  const count = Math.round(48_000 * length_s);
  const data = Buffer.alloc(44 + 2 * count);
  data.write('RIFF', 0);
  data.writeUInt32LE(36 + 2 * count, 4);
  data.write('WAVEfmt ', 8);
  data.writeUInt32LE(16, 16);
  data.writeUInt16LE(1, 20);
  data.writeUInt16LE(1, 22);
  data.writeUInt32LE(48_000, 24);
  data.writeUInt32LE(96_000, 28);
  data.writeUInt16LE(2, 32);
  data.writeUInt16LE(16, 34);
  data.write('data', 36);
  data.writeUInt32LE(2 * count, 40);
  for (let i = 0; i < count; i++)
    data.writeInt16LE(Math.round(8000 * Math.sin((2 * Math.PI * 440 * i) / 48_000)), 44 + 2 * i);
  return data;
}
