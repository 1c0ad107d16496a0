/**
 * Where a film's bytes go: one file written in place, numbered pictures in a folder, or ffmpeg's standard input. A file is
 * written beside its name and takes it when it is closed, so that an old film stands until the new one is there.
 */
import { spawn, type ChildProcess } from 'node:child_process';
import { accessSync, constants } from 'node:fs';
import { mkdir, open, readdir, rename, rm, stat, statfs, writeFile, type FileHandle } from 'node:fs/promises';
import { randomUUID } from 'node:crypto';
import { basename, delimiter, dirname, extname, join } from 'node:path';
import type { Request, Response } from '../../core/contract/channels.ts';
import { codeOf, HostFailure, reasonOf } from './failure.ts';
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
  write(picture: number | null, position: number, data: Buffer): Promise<void>;
  /** Ends it; true keeps what was written. */
  close(keep: boolean): Promise<void>;
}

export class FilmSinks {
  readonly ffmpeg: string | null;
  private readonly sinks = new Map<string, Sink>();
  private readonly freeBytes: (folder: string) => Promise<number>;

  constructor(machine: FilmMachine = {}) {
    this.ffmpeg = machine.ffmpeg === undefined ? findFfmpeg(process.env) : machine.ffmpeg;
    this.freeBytes = machine.freeBytes ?? freeBytesOf;
  }

  /** Throws HostFailure `diskFull` when there is no room for what is expected, `notWritable` when the place cannot be had. */
  async open(
    path: string,
    kind: Request<'film.open'>['kind'],
    rate: Rate,
    expected: number,
  ): Promise<Response<'film.open'>> {
    const name = basename(path);
    try {
      const free = await this.freeBytes(dirname(path));
      if (expected + RESERVE > free) {
        const sizes = `some ${megabytes(expected + RESERVE)} MB are needed and ${megabytes(free)} MB are free`;
        throw new HostFailure('diskFull', `There is no room for “${name}”: ${sizes}.`);
      }
      const { sink, pictures } = await this.make(path, kind, rate);
      const id = randomUUID();
      this.sinks.set(id, sink);
      return { sink: id, name: sink.name, free_bytes: free, pictures };
    } catch (error) {
      throw told(name, error);
    }
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
      sink.unlooked += data.length;
      if (!closing && sink.unlooked >= LOOK_EVERY) {
        sink.unlooked = 0;
        if ((await this.freeBytes(dirname(sink.path))) < RESERVE) {
          throw new HostFailure('diskFull', `The disk is nearly full: “${sink.name}” is ended here.`);
        }
      }
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

  async close(id: string, keep: boolean): Promise<Response<'film.close'>> {
    const sink = this.sinkOf(id);
    this.sinks.delete(id);
    try {
      await sink.close(keep);
    } catch (error) {
      throw told(sink.name, error);
    }
    return { name: sink.name, bytes: sink.bytes };
  }

  private sinkOf(id: string): Sink {
    const sink = this.sinks.get(id);
    if (sink === undefined) throw new HostFailure('unknownToken', 'This film is not being written any more.');
    return sink;
  }

  private async make(
    path: string,
    kind: Request<'film.open'>['kind'],
    rate: Rate,
  ): Promise<{ sink: Sink; pictures: number }> {
    switch (kind) {
      case 'file':
        return { sink: await fileSink(path), pictures: 0 };
      case 'pictures':
        return picturesSink(path);
      case 'prores':
        if (this.ffmpeg === null) {
          throw new HostFailure(
            'notFound',
            'ProRes is written by the program ffmpeg, and this system has none; choose another format.',
          );
        }
        return { sink: programSink(path, this.ffmpeg, rate), pictures: 0 };
    }
  }
}

async function fileSink(path: string): Promise<Sink> {
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
    async write(_, position, data) {
      // A disk that fills up takes a part and says so only at the next call: all of it has to be taken.
      let done = 0;
      while (done < data.length) {
        const { bytesWritten } = await file.write(data, done, data.length - done, position + done);
        if (bytesWritten === 0)
          throw new HostFailure('diskFull', `The disk is full: “${basename(path)}” ends here.`);
        done += bytesWritten;
      }
    },
    async close(keep) {
      if (keep) await file.sync();
      await file.close();
      if (keep) await rename(part, path);
      else await rm(part, { force: true });
    },
  };
}

const PICTURE = /^(\d{7})\.png$/;

/** A folder of the film's name without its ending. Pictures that are there stay: a recording can be taken up again. */
async function picturesSink(path: string): Promise<{ sink: Sink; pictures: number }> {
  const folder = withoutEnding(path);
  await mkdir(folder, { recursive: true });
  const there = new Set((await readdir(folder)).filter((name) => PICTURE.test(name)));
  let pictures = 0;
  while (there.has(pictureName(pictures))) pictures += 1;
  const made: string[] = [];
  const sink: Sink = {
    path,
    name: basename(folder),
    bytes: 0,
    unlooked: 0,
    async write(picture, _, data) {
      const target = join(folder, pictureName(picture ?? 0));
      // Under its name only when it is whole: a picture that is there counts as done.
      await writeFile(`${target}.part`, data);
      await rename(`${target}.part`, target);
      made.push(target);
    },
    async close(keep) {
      if (!keep) await Promise.all(made.map((file) => rm(file, { force: true })));
    },
  };
  return { sink, pictures };
}

function pictureName(picture: number): string {
  return `${String(picture).padStart(7, '0')}.png`;
}

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
    ...['-vf', 'scale=out_color_matrix=bt709:out_range=tv', '-c:v', 'prores_ks', '-profile:v', '4444'],
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
