import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PNG } from 'pngjs';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { FilmSinks } from '../../../src-main/host/filmSinks.ts';
import type { FilmIdentity } from '../../../core/contract/filmChannels.ts';
import type { HostFailure } from '../../../src-main/host/failure.ts';

const rate = { numerator: 30, denominator: 1 };
const MB = 1_000_000;
const asked = (kind: 'file' | 'pictures' | 'prores', identity: FilmIdentity | null = null, anew = false) => ({
  ...{ kind, rate, identity, anew },
});
let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sinks-'));
});
afterEach(() => {
  rmSync(folder, { recursive: true });
});

const failure = (work: Promise<unknown>): Promise<HostFailure> =>
  work.then(
    () => {
      throw new Error('it was answered');
    },
    (error: unknown) => error as HostFailure,
  );

describe('a film on its way to the disk', () => {
  it('is written where each piece belongs, backward too, and takes its name at the end', async () => {
    const path = join(folder, 'a.webm');
    writeFileSync(path, 'the old film');
    const sinks = new FilmSinks({});
    const { sink, name } = await sinks.open(path, 10, asked('file'));
    expect(name).toBe('a.webm');
    await sinks.write(sink, null, 4, Buffer.from('4567'), false);
    await sinks.write(sink, null, 0, Buffer.from('0123'), false);
    await sinks.write(sink, null, 2, Buffer.from('xx'), false);
    expect(readFileSync(path, 'utf8')).toBe('the old film');
    await sinks.beside(sink, 'chapters.txt', 'beside');
    expect(await sinks.close(sink, true, false)).toEqual({ name: 'a.webm', bytes: 8 });
    expect(readFileSync(path, 'utf8')).toBe('01xx4567');
    expect(readdirSync(folder).sort()).toEqual(['a.chapters.txt', 'a.webm']);
    expect((await failure(sinks.write(sink, null, 0, Buffer.from('x'), false))).code).toBe('unknownToken');
  });

  it('leaves the old one where it is not kept', async () => {
    const path = join(folder, 'a.webm');
    writeFileSync(path, 'the old film');
    const sinks = new FilmSinks({});
    const { sink } = await sinks.open(path, 10, asked('file'));
    await sinks.write(sink, null, 0, Buffer.from('new'), false);
    await sinks.close(sink, false, false);
    expect(readdirSync(folder)).toEqual(['a.webm']);
    expect(readFileSync(path, 'utf8')).toBe('the old film');
  });

  it('is refused at once where there is no room for it', async () => {
    const sinks = new FilmSinks({ freeBytes: () => Promise.resolve(100 * MB) });
    const refused = await failure(sinks.open(join(folder, 'a.webm'), 90 * MB, asked('file')));
    expect(refused.code).toBe('diskFull');
    expect(refused.message).toBe(
      'There is no room for “a.webm”: some 106 MB are needed and 100 MB are free.',
    );
    expect(readdirSync(folder)).toEqual([]);
  });

  it('is ended while there is still room for its end, and keeps what was written', async () => {
    let free = 100 * MB;
    const sinks = new FilmSinks({ freeBytes: () => Promise.resolve(free) });
    const { sink } = await sinks.open(join(folder, 'a.webm'), MB, asked('file'));
    const piece = Buffer.alloc(3 * MB, 7);
    await sinks.write(sink, null, 0, piece, false);
    // Another program takes the room meanwhile.
    free = 10 * MB;
    const full = await failure(sinks.write(sink, null, piece.length, piece, false));
    expect(full.code).toBe('diskFull');
    expect(full.message).toMatch(/nearly full: “a.webm” is ended here/);
    await sinks.write(sink, null, piece.length, Buffer.from('the end'), true);
    expect(await sinks.close(sink, true, false)).toEqual({ name: 'a.webm', bytes: 3 * MB + 7 });
    expect(readFileSync(join(folder, 'a.webm')).subarray(-7).toString()).toBe('the end');
  });

  it('tells a disk that is full from one that cannot be written', async () => {
    const sinks = new FilmSinks({ freeBytes: () => Promise.resolve(100 * MB) });
    // A device that takes nothing: what a full disk answers.
    if (existsSync('/dev/full')) {
      const path = join(folder, 'pictures.png');
      const { sink } = await sinks.open(path, 0, asked('pictures'));
      const { symlinkSync } = await import('node:fs');
      symlinkSync('/dev/full', join(folder, 'pictures', '0000000.png.part'));
      expect((await failure(sinks.write(sink, 0, 0, Buffer.from('x'), false))).code).toBe('diskFull');
    }
    const gone = await failure(sinks.open(join(folder, 'none', 'a.webm'), 0, asked('file')));
    expect(gone.code).toBe('notWritable');
    expect(gone.message).toBe('“a.webm” cannot be written: its folder is not there.');
  });

  it('counts the pictures that stand from the first on, and takes only its own away', async () => {
    const sinks = new FilmSinks({});
    const path = join(folder, 'b.png');
    const first = await sinks.open(path, 0, asked('pictures', { size: 'small' }));
    for (const n of [0, 1, 3]) await sinks.write(first.sink, n, 0, Buffer.from(String(n)), false);
    await sinks.close(first.sink, true, false);
    const other = await failure(sinks.open(path, 0, asked('pictures', { size: 'large' })));
    expect(other.code).toBe('otherRecording');
    expect(other.message).toBe(
      'What stands of the pictures in “b” was recorded with another size (small, now large); record under another name, or begin anew.',
    );
    const again = await sinks.open(path, 0, asked('pictures', { size: 'small' }));
    expect(again.pictures).toBe(2);
    await sinks.write(again.sink, 2, 0, Buffer.from('2'), false);
    await sinks.close(again.sink, false, false);
    const own = ['0000000.png', '0000001.png', '0000003.png', 'recording.json'];
    expect(readdirSync(join(folder, 'b')).sort()).toEqual(own);
    const anew = await sinks.open(path, 0, asked('pictures', { size: 'large' }, true));
    expect(anew.pictures).toBe(0);
    await sinks.close(anew.sink, true, false);
    expect(readdirSync(join(folder, 'b'))).toEqual(['recording.json']);
  });

  it('says what ffmpeg said when that ends too soon', async () => {
    const sinks = new FilmSinks({ ffmpeg: '/bin/false' });
    const { sink } = await sinks.open(join(folder, 'c.mov'), 0, asked('prores'));
    const broken = await failure(
      (async () => {
        for (let i = 0; i < 50; i++) await sinks.write(sink, i, 0, Buffer.alloc(100_000), false);
      })(),
    );
    expect(broken.message).toMatch(/^ffmpeg ended before the film did/);
    await sinks.close(sink, false, false);
    expect(existsSync(join(folder, 'c.mov'))).toBe(false);
  });

  it.skipIf(spawnSync('ffprobe', ['-version']).status !== 0)(
    'is ProRes with the tags and the colours of BT.709 as ffmpeg writes and reads it',
    async () => {
      const path = join(folder, 'a.mov');
      const picture = new PNG({ width: 64, height: 64 });
      for (let i = 0; i < picture.data.length; i += 4) picture.data.set([200, 30, 40, 255], i);
      const sinks = new FilmSinks();
      const { sink } = await sinks.open(path, 10, asked('prores'));
      for (const number of [0, 1, 2]) await sinks.write(sink, number, 0, PNG.sync.write(picture), false);
      await sinks.close(sink, true, false);
      const entries =
        'stream=codec_name,profile,r_frame_rate,color_range,color_space,color_transfer,color_primaries';
      const args = ['-v', 'error', '-show_entries', entries, '-of', 'json', path];
      const { streams } = JSON.parse(spawnSync('ffprobe', args).stdout.toString()) as { streams: unknown[] };
      expect(streams).toEqual([
        {
          ...{ codec_name: 'prores', profile: '4444', r_frame_rate: '30/1', color_range: 'tv' },
          ...{ color_space: 'bt709', color_transfer: 'bt709', color_primaries: 'bt709' },
        },
      ]);
      const raw = spawnSync('ffmpeg', [
        ...['-v', 'error', '-i', path, '-frames:v', '1', '-pix_fmt', 'yuva444p10le', '-f', 'rawvideo', '-'],
      ]).stdout;
      const middle = [0, 1, 2, 3].map((plane) => raw.readUInt16LE(2 * (plane * 4096 + 2080)) / 4);
      // Rec. ITU-R BT.709-6, items 3.2 to 3.4: 73.4, 115.3, 202.3 for this red; one step of eight bits for the encoder.
      for (const [plane, value] of [73.4, 115.3, 202.3, 255].entries())
        expect(Math.abs(middle[plane]! - value)).toBeLessThanOrEqual(1);
    },
  );
});
