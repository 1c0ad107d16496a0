import { mkdtempSync, readdirSync, readFileSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { FilmIdentity } from '../../../core/contract/filmChannels.ts';
import type { HostFailure } from '../../../src-main/host/failure.ts';
import { FilmSinks } from '../../../src-main/host/filmSinks.ts';

const identity: FilmIdentity = { size: '480×270', study: '1234' };
const MB = 1_000_000;
let folder = '';
let film = '';
let free = 100 * MB;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'journal-'));
  film = join(folder, 'a.webm');
  free = 100 * MB;
});
afterEach(() => {
  rmSync(folder, { recursive: true });
});

const desk = (): FilmSinks => new FilmSinks({ freeBytes: () => Promise.resolve(free) });
const open = (
  sinks: FilmSinks,
  own: FilmIdentity = identity,
  anew = false,
): Promise<{ sink: string; segments: number }> =>
  sinks.open(film, MB, { kind: 'file', rate: { numerator: 30, denominator: 1 }, identity: own, anew });

/** A recording that is broken off with segments of these words. */
async function breakOff(words: readonly string[]): Promise<void> {
  const sinks = desk();
  const { sink } = await open(sinks);
  for (const text of words) {
    await sinks.keep(sink, Buffer.from(text.slice(0, 2)), false);
    await sinks.keep(sink, Buffer.from(text.slice(2)), true);
  }
  await sinks.close(sink, false, true);
}

/** Segments that stand; they still do afterwards. */
async function standing(own: FilmIdentity = identity, anew = false): Promise<number> {
  const sinks = desk();
  const { sink, segments } = await open(sinks, own, anew);
  await sinks.close(sink, false, true);
  return segments;
}

async function read(sinks: FilmSinks, sink: string, segment: number): Promise<string> {
  const { data } = await sinks.kept(sink, segment, 0);
  expect((await sinks.kept(sink, segment, Buffer.from(data, 'base64').length)).data).toBe('');
  return Buffer.from(data, 'base64').toString();
}

describe('the journal of a film', () => {
  it('gives back the segments of a recording that broke off, and goes when the film is whole', async () => {
    await breakOff(['the first', 'the second']);
    const sinks = desk();
    const { sink, segments } = await open(sinks);
    expect(segments).toBe(2);
    expect(await read(sinks, sink, 0)).toBe('the first');
    expect(await read(sinks, sink, 1)).toBe('the second');
    await sinks.keep(sink, Buffer.from('the third'), true);
    expect(await read(sinks, sink, 2)).toBe('the third');
    await sinks.close(sink, true, false);
    expect(readdirSync(folder)).toEqual(['a.webm']);
  });

  it.each([1, 4, 11, 13])('drops a last segment of which %i bytes are missing', async (missing) => {
    await breakOff(['the first', 'the second']);
    const journal = `${film}.journal`;
    truncateSync(journal, readFileSync(journal).length - missing);
    const sinks = desk();
    const { sink, segments } = await open(sinks);
    expect(segments).toBe(1);
    await sinks.keep(sink, Buffer.from('the second again'), true);
    await sinks.close(sink, false, true);
    const later = desk();
    const again = await open(later);
    expect(again.segments).toBe(2);
    expect(await read(later, again.sink, 1)).toBe('the second again');
    await later.close(again.sink, false, false);
    expect(readdirSync(folder)).toEqual([]);
  });

  it('drops a segment whose bytes are not those that were written, and what is behind it', async () => {
    await breakOff(['the first', 'the second', 'the third']);
    const journal = `${film}.journal`;
    const bytes = readFileSync(journal);
    bytes[bytes.indexOf('second')] = 0x53;
    writeFileSync(journal, bytes);
    expect(await standing()).toBe(1);
  });

  it('is refused for another recording with what differs, and dropped when begun anew', async () => {
    await breakOff(['the first']);
    const refused = await open(desk(), { ...identity, size: '1920×1080' }).then(
      () => null,
      (error: unknown) => error as HostFailure,
    );
    expect(refused?.code).toBe('otherRecording');
    expect(refused?.message).toBe(
      'What stands of “a.webm” was recorded with another size (480×270, now 1920×1080); record under another name, or begin anew.',
    );
    // It is still there for the recording whose it is.
    expect(await standing()).toBe(1);
    expect(await standing({ ...identity, size: '1920×1080' }, true)).toBe(0);
  });

  it('stops where the disk fills up, and stays for another time', async () => {
    await breakOff(['the first']);
    const sinks = desk();
    const { sink } = await open(sinks);
    free = 10 * MB;
    const full = await sinks.keep(sink, Buffer.alloc(5 * MB), true).then(
      () => null,
      (error: unknown) => error as HostFailure,
    );
    expect(full?.code).toBe('diskFull');
    await sinks.close(sink, true, true);
    expect(readdirSync(folder).sort()).toEqual(['a.webm', 'a.webm.journal']);
    free = 100 * MB;
    expect(await standing()).toBe(1);
  });

  it('needs room for itself beside the film', async () => {
    free = 17 * MB;
    await expect(open(desk())).rejects.toThrow(/some 18 MB are needed and 17 MB are free/);
  });

  it('is left as a closed one when its window has gone, and not at all where nothing stands', async () => {
    const sinks = desk();
    const { sink } = await open(sinks);
    await sinks.write(sink, null, 0, Buffer.from('half a film'), false);
    expect(readdirSync(folder).sort()).toEqual(['a.webm.journal', 'a.webm.part']);
    expect(await sinks.leave()).toBe(false);
    expect(readdirSync(folder)).toEqual([]);
    const again = await open(sinks);
    await sinks.keep(again.sink, Buffer.from('one'), true);
    await sinks.keep(again.sink, Buffer.from('a piece of the second'), false);
    expect(await sinks.leave()).toBe(true);
    expect(readdirSync(folder)).toEqual(['a.webm.journal']);
    expect(await standing()).toBe(1);
    expect(await sinks.leave()).toBe(false);
  });
});
