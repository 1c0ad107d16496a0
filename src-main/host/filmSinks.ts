/**
 * Where a film's bytes go: one file written in place, numbered pictures in a folder, or ffmpeg's standard input. A file is
 * written beside its name and takes it when it is closed, so that an old film stands until the new one is there.
 */
import { spawn, type ChildProcess } from 'node:child_process';
import { accessSync, constants } from 'node:fs';
import {
  mkdir,
  open,
  readdir,
  readFile,
  rename,
  rm,
  stat,
  statfs,
  writeFile,
  type FileHandle,
} from 'node:fs/promises';
import { randomUUID } from 'node:crypto';
import { basename, delimiter, dirname, extname, join } from 'node:path';
import type { Request, Response } from '../../core/contract/channels.ts';
import { LARGEST_PIECE, type FilmIdentity } from '../../core/contract/filmChannels.ts';
import { codeOf, HostFailure, reasonOf } from './failure.ts';
import { FilmJournal, readIdentity, refuseOther, writeAt } from './filmJournal.ts';
import { writeTextFile } from './studyFiles.ts';

/** What a test may put in place of the machine. */
export interface FilmMachine {
  /** Bytes that may be written into a folder. */
  readonly freeBytes?: (folder: string) => Promise<number>;
  /** Path of the program, null for none. */
  readonly ffmpeg?: string | null;
}

/** Room that is left on the disk for ending a file well: its index and its tables. Bytes. */
const RESERVE = 16_000_000;
/** Between two looks at the room at most so many bytes are written. */
const LOOK_EVERY = 4_000_000;

type Rate = Request<'film.open'>['rate'];

interface Sink {
  readonly path: string;
  readonly name: string;
  bytes: number;
  unlooked: number;
  /** What it can go on from when it breaks off; null for nothing. */
  readonly journal: FilmJournal | null;
  /** Whether a recording can go on from anything that stands here. */
  standing(): boolean;
  write(picture: number | null, position: number, data: Buffer): Promise<void>;
  /** Ends it; `keep` keeps what was written, `later` what it can go on from. */
  close(keep: boolean, later: boolean): Promise<void>;
}

/** What is opened, and how much of it stands from a recording that broke off. */
interface Opened {
  readonly sink: Sink;
  readonly pictures: number;
  readonly segments: number;
}

type Asked = Pick<Request<'film.open'>, 'kind' | 'rate' | 'identity' | 'anew'>;

export class FilmSinks {
  readonly ffmpeg: string | null;
  private readonly sinks = new Map<string, Sink>();
  private readonly freeBytes: (folder: string) => Promise<number>;

  constructor(machine: FilmMachine = {}) {
    this.ffmpeg = machine.ffmpeg === undefined ? findFfmpeg(process.env) : machine.ffmpeg;
    this.freeBytes = machine.freeBytes ?? freeBytesOf;
  }

  /** Throws HostFailure `diskFull` when there is no room for what is expected, `notWritable` when the place cannot be had. */
  async open(path: string, expected: number, asked: Asked): Promise<Response<'film.open'>> {
    const name = basename(path);
    try {
      const free = await this.freeBytes(dirname(path));
      // A journal beside the film is as large again.
      const needed = (asked.kind === 'file' && asked.identity !== null ? 2 : 1) * expected + RESERVE;
      if (needed > free) {
        const sizes = `some ${megabytes(needed)} MB are needed and ${megabytes(free)} MB are free`;
        throw new HostFailure('diskFull', `There is no room for “${name}”: ${sizes}.`);
      }
      const { sink, pictures, segments } = await this.make(path, asked);
      const id = randomUUID();
      this.sinks.set(id, sink);
      return { sink: id, name: sink.name, free_bytes: free, pictures, segments };
    } catch (error) {
      throw told(name, error);
    }
  }

  /** Adds a piece of a segment to the journal; the segment stands when the last one is there. */
  async keep(id: string, data: Buffer, last: boolean): Promise<Response<'film.keep'>> {
    const sink = this.sinkOf(id);
    const journal = journalOf(sink);
    try {
      await this.look(sink, data.length);
      await journal.add(data, last);
      return {};
    } catch (error) {
      throw told(sink.name, error);
    }
  }

  async kept(id: string, segment: number, from: number): Promise<Response<'film.kept'>> {
    const sink = this.sinkOf(id);
    try {
      const data = await journalOf(sink).read(segment, from, LARGEST_PIECE);
      return { data: data.toString('base64') };
    } catch (error) {
      throw told(sink.name, error);
    }
  }

  /** Throws HostFailure `diskFull` while there is still room for the film's end. */
  private async look(sink: Sink, bytes: number): Promise<void> {
    sink.unlooked += bytes;
    if (sink.unlooked < LOOK_EVERY) return;
    sink.unlooked = 0;
    if ((await this.freeBytes(dirname(sink.path))) < RESERVE)
      throw new HostFailure('diskFull', `The disk is nearly full: “${sink.name}” is ended here.`);
  }

  async write(
    id: string,
    picture: number | null,
    position: number,
    data: Buffer,
    closing: boolean,
  ): Promise<Response<'film.write'>> {
    const sink = this.sinkOf(id);
    try {
      if (!closing) await this.look(sink, data.length);
      await sink.write(picture, position, data);
      sink.bytes = picture === null ? Math.max(sink.bytes, position + data.length) : sink.bytes + data.length;
      return {};
    } catch (error) {
      throw told(sink.name, error);
    }
  }

  async beside(id: string, ending: string, text: string): Promise<Response<'film.beside'>> {
    const { path } = this.sinkOf(id);
    const beside = `${withoutEnding(path)}.${ending}`;
    await writeTextFile(beside, text);
    return { name: basename(beside) };
  }

  async close(id: string, keep: boolean, later: boolean): Promise<Response<'film.close'>> {
    const sink = this.sinkOf(id);
    this.sinks.delete(id);
    try {
      await sink.close(keep, later);
    } catch (error) {
      throw told(sink.name, error);
    }
    return { name: sink.name, bytes: sink.bytes };
  }

  /** Closes what its window left open when it went; what can be gone on from stays. Whether anything does. */
  async leave(): Promise<boolean> {
    const left = [...this.sinks.values()];
    this.sinks.clear();
    for (const sink of left) await sink.close(false, true);
    return left.some((sink) => sink.standing());
  }

  private sinkOf(id: string): Sink {
    const sink = this.sinks.get(id);
    if (sink === undefined) throw new HostFailure('unknownToken', 'This film is not being written any more.');
    return sink;
  }

  private async make(path: string, { kind, rate, identity, anew }: Asked): Promise<Opened> {
    switch (kind) {
      case 'file': {
        const journal = identity === null ? null : await FilmJournal.open(path, identity, anew);
        const sink = await fileSink(path, journal).catch(async (error: unknown) => {
          await journal?.close(true);
          throw error;
        });
        return { sink, pictures: 0, segments: journal?.segments ?? 0 };
      }
      case 'pictures':
        return picturesSink(path, identity, anew);
      case 'prores':
        if (this.ffmpeg === null) {
          throw new HostFailure(
            'notFound',
            'ProRes is written by the program ffmpeg, and this system has none; choose another format.',
          );
        }
        return { sink: programSink(path, this.ffmpeg, rate), pictures: 0, segments: 0 };
    }
  }
}

function journalOf({ journal, name }: Sink): FilmJournal {
  if (journal === null) throw new HostFailure('unknownToken', `“${name}” keeps no journal.`);
  return journal;
}

async function fileSink(path: string, journal: FilmJournal | null): Promise<Sink> {
  const existing = await stat(path).catch(() => null);
  if (existing !== null && !existing.isFile())
    throw new HostFailure('notWritable', `“${basename(path)}” cannot be written: it is no file.`);
  const part = `${path}.part`;
  const file: FileHandle = await open(part, 'w');
  return {
    path,
    name: basename(path),
    bytes: 0,
    unlooked: 0,
    journal,
    standing: () => (journal?.segments ?? 0) > 0,
    async write(_, position, data) {
      await writeAt(file, data, position);
    },
    async close(keep, later) {
      if (keep) await file.sync();
      await file.close();
      if (keep) await rename(part, path);
      else await rm(part, { force: true });
      await journal?.close(later);
    },
  };
}

const PICTURE = /^(\d{7})\.png$/;

/**
 * A folder of the film's name without its ending. Pictures that are there stay, and those of the same recording are not drawn
 * again; of which it is says a file beside them.
 */
async function picturesSink(path: string, identity: FilmIdentity | null, anew: boolean): Promise<Opened> {
  const folder = withoutEnding(path);
  await mkdir(folder, { recursive: true });
  const there = new Set((await readdir(folder)).filter((name) => PICTURE.test(name)));
  let pictures = 0;
  if (identity !== null) {
    const card = join(folder, 'recording.json');
    if (anew) for (const name of there) await rm(join(folder, name), { force: true });
    else if (there.size > 0) {
      const known = readIdentity(await readFile(card, 'utf8').catch(() => ''));
      refuseOther(`the pictures in “${basename(folder)}”`, known, identity);
      while (there.has(pictureName(pictures))) pictures += 1;
    }
    await writeTextFile(card, `${JSON.stringify(identity, null, 2)}\n`);
  }
  const made: string[] = [];
  const sink: Sink = {
    path,
    name: basename(folder),
    bytes: 0,
    unlooked: 0,
    journal: null,
    standing: () => pictures + made.length > 0,
    async write(picture, _, data) {
      const target = join(folder, pictureName(picture ?? 0));
      // Under its name only when it is whole: a picture that is there counts as done.
      await writeFile(`${target}.part`, data);
      await rename(`${target}.part`, target);
      made.push(target);
    },
    async close(keep, later) {
      if (!keep && !later) await Promise.all(made.map((file) => rm(file, { force: true })));
    },
  };
  return { sink, pictures, segments: 0 };
}

function pictureName(picture: number): string {
  return `${String(picture).padStart(7, '0')}.png`;
}

/** On the pictures themselves: what those of a PNG leave open wins over what the encoder is told. */
const TAGS = 'setparams=range=tv:colorspace=bt709:color_primaries=bt709:color_trc=bt709';

/** ProRes 4444 with alpha, tagged BT.709 as editors expect it. */
function programSink(path: string, program: string, rate: Rate): Sink {
  const part = `${withoutEnding(path)}.part.mov`;
  const args = [
    ...['-hide_banner', '-loglevel', 'error', '-y'],
    ...[
      '-f',
      'image2pipe',
      '-framerate',
      `${rate.numerator}/${rate.denominator}`,
      '-c:v',
      'png',
      '-i',
      'pipe:0',
    ],
    ...['-vf', `scale=out_color_matrix=bt709:out_range=tv,${TAGS}`],
    ...['-c:v', 'prores_ks', '-profile:v', '4444'],
    ...[
      '-pix_fmt',
      'yuva444p10le',
      '-color_primaries',
      'bt709',
      '-color_trc',
      'bt709',
      '-colorspace',
      'bt709',
    ],
    ...['-color_range', 'tv', part],
  ];
  const child: ChildProcess = spawn(program, args, { stdio: ['pipe', 'ignore', 'pipe'] });
  let said = '';
  child.stderr?.on('data', (chunk: Buffer) => (said = (said + chunk.toString()).slice(-1000)));
  const ended = new Promise<number>((resolve) => {
    child.on('error', (error) => {
      said = error.message;
      resolve(127);
    });
    child.on('close', (code) => resolve(code ?? 1));
  });
  const broken = (): HostFailure =>
    new HostFailure('notWritable', `ffmpeg ended before the film did: ${said.trim() || 'it said nothing'}.`);
  // An error of the pipe is told by the write that meets it.
  child.stdin?.on('error', () => undefined);
  return {
    path,
    name: basename(path),
    bytes: 0,
    unlooked: 0,
    journal: null,
    standing: () => false,
    async write(_, __, data) {
      const taken = new Promise<void>((resolve, reject) => {
        child.stdin?.write(data, (error) => (error == null ? resolve() : reject(error)));
      });
      await Promise.race([taken, ended.then(() => Promise.reject(broken()))]).catch(() => {
        throw broken();
      });
    },
    async close(keep) {
      if (!keep) child.kill();
      child.stdin?.end();
      const code = await ended;
      if (!keep) {
        await rm(part, { force: true });
        return;
      }
      if (code !== 0) throw broken();
      await rename(part, path);
    },
  };
}

function withoutEnding(path: string): string {
  const ending = extname(path);
  return ending === '' ? path : path.slice(0, -ending.length);
}

async function freeBytesOf(folder: string): Promise<number> {
  const { bavail, bsize } = await statfs(folder);
  return bavail * bsize;
}

function findFfmpeg(env: NodeJS.ProcessEnv): string | null {
  const name = process.platform === 'win32' ? 'ffmpeg.exe' : 'ffmpeg';
  for (const folder of (env['PATH'] ?? '').split(delimiter)) {
    if (folder === '') continue;
    try {
      accessSync(join(folder, name), constants.X_OK);
      return join(folder, name);
    } catch {
      // Not in this folder.
    }
  }
  return null;
}

function megabytes(bytes: number): string {
  return (bytes / 1e6).toFixed(0);
}

function told(name: string, error: unknown): HostFailure {
  if (error instanceof HostFailure) return error;
  const full = ['ENOSPC', 'EDQUOT', 'EFBIG'].includes(codeOf(error) ?? '');
  return new HostFailure(
    full ? 'diskFull' : 'notWritable',
    `“${name}” cannot be written: ${codeOf(error) === 'ENOENT' ? 'its folder is not there' : reasonOf(error)}.`,
    error,
  );
}
