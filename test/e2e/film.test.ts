import {
  appendFileSync,
  readdirSync,
  statSync,
  readFileSync,
  rmSync,
  writeFileSync,
  chmodSync,
  existsSync,
  mkdtempSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PNG } from 'pngjs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { CAUTION } from '../../core/contract/caution.ts';
import { contentHash } from '../../core/contract/contentHash.ts';
import { loadStudy } from '../../core/contract/load.ts';
import { compileStudy } from '../../core/flight/compile.ts';
import { recordFlight } from '../../core/flight/record.ts';
import { resolveCues } from '../../core/replay/film/cueTrack.ts';
import { FRAME_RATES, frameTime_s } from '../../core/replay/film/rate.ts';
import { solvePayload } from '../../core/solve/payload.ts';
import { buildIfStale } from '../../src-main/launch/setup.mjs';
import {
  Decoder,
  childrenOf,
  film,
  filmedStudy,
  killChildren,
  SHORT_FILM,
  startFilm,
  type Decoded,
  tone,
} from './filmed.ts';

/** Often enough to be there between two segments. */
const POLL = { timeout: 120_000, interval: 20 };
const folder = mkdtempSync(join(tmpdir(), 'plumeline-film-'));
const at = (name: string): string => join(folder, name);
let study = '';
let decoder: Decoder;

beforeAll(async () => {
  await buildIfStale(() => undefined);
  study = filmedStudy(folder, SHORT_FILM);
  decoder = await Decoder.open();
});
afterAll(async () => {
  await decoder.close();
  rmSync(folder, { recursive: true });
});

/** The film's clock by a flight worked out here, with what mission time it must show. */
function clockHere(): { missionAt_s: (film_s: number) => number; hash: string } {
  const loaded = loadStudy(readFileSync(study, 'utf8'));
  if (!loaded.ok) throw new Error('the study does not load');
  const compiled = compileStudy(loaded.study);
  const outcome = solvePayload(compiled);
  const { log } = recordFlight(compiled, outcome.values);
  const nothing = {
    gap_s: 0,
    perigee_m: 0,
    apogee_m: 0,
    compare: null,
    slope_kgps: 0,
    notes: new Map<string, string>(),
  };
  const resolved = resolveCues(SHORT_FILM, { ...nothing, log, payload_kg: outcome.payload_kg });
  if (!resolved.ok) throw new Error(resolved.problems.join(' '));
  const { film: _, ...plain } = loaded.study;
  return { missionAt_s: (t) => resolved.track.clock.missionAt_s(t), hash: contentHash(plain) };
}

function expectEveryFrame(decoded: Decoded, rate: string, unit_s: number): void {
  const { missionAt_s } = clockHere();
  const { numerator, denominator } = FRAME_RATES[rate]!;
  const frames = Math.round((3 * numerator) / denominator);
  expect(decoded.frames).toBe(frames);
  decoded.codes.forEach((code, i) => {
    expect(code?.frame).toBe(i);
    // Written to a millisecond; the flight was solved by another engine, whose elementary functions differ by an ulp.
    expect(Math.abs(code!.mission_s - missionAt_s(frameTime_s(i, { numerator, denominator })))).toBeLessThan(
      0.002,
    );
    // Times in the file are whole numbers of its unit.
    expect(Math.abs(decoded.timestamps_s[i]! - (i * denominator) / numerator)).toBeLessThanOrEqual(
      0.51 * unit_s,
    );
  });
  expect(Math.abs(decoded.duration_s - (frames * denominator) / numerator)).toBeLessThan(1.1 * unit_s);
}

describe('a film recorded by command', () => {
  it('has every frame once, in VP9, and the same bytes when recorded again', async () => {
    const args = [study, '--size', '480x270', '--rate', '29.97', '--frame-code'];
    for (const name of ['a.webm', 'b.webm']) {
      const { code, err } = await film([...args, '--out', at(name)]);
      expect(err.replace(/^plumeline: \d+ of .*\n/gm, '')).toBe('');
      expect(code).toBe(0);
    }
    expect(readFileSync(at('a.webm')).equals(readFileSync(at('b.webm')))).toBe(true);
    const decoded = await decoder.decode(at('a.webm'));
    expect(decoded).toMatchObject({ codec: 'vp9', width: 480, height: 270, canBeTransparent: false });
    // Matroska counts milliseconds.
    expectEveryFrame(decoded, '29.97', 0.001);
    expect(decoded.colour).toEqual({
      primaries: 'bt709',
      transfer: 'bt709',
      matrix: 'bt709',
      fullRange: false,
    });
    expect(decoded.tags.description).toBe(CAUTION);
    expect(decoded.tags.comment).toContain(clockHere().hash);
    expect(decoded.tags.comment).toMatch(/Chrom(e|ium) \d+\.\d+\.\d+\.\d+/);
    const beside = readdirSync(folder).filter((name) => name.startsWith('a.'));
    expect(beside.sort()).toEqual([
      'a.chapters.txt',
      'a.cues.txt',
      'a.srt',
      'a.telemetry.csv',
      'a.vtt',
      'a.webm',
    ]);
    expect(readFileSync(at('a.srt'), 'utf8')).toContain(
      '00:00:00,400 --> 00:00:01,800\nUp with 25.61\u202Ft.',
    );
  });

  it('goes on after Ctrl-C and after its browser was killed, to the same bytes, and refuses to mix two recordings', async () => {
    const long = filmedStudy(at('long'), { ...SHORT_FILM, length_s: 12 });
    const args = [long, '--size', '480x270', '--rate', '25', '--frame-code'];
    expect((await film([...args, '--out', at('whole.webm')])).code).toBe(0);
    const journal = at('cut.webm.journal');
    const size = (): number => (existsSync(journal) ? statSync(journal).size : 0);
    const left = (): string[] => readdirSync(folder).filter((name) => name.startsWith('cut.webm'));

    const first = startFilm([...args, '--out', at('cut.webm')]);
    // One segment of six stands.
    await expect.poll(size, POLL).toBeGreaterThan(5000);
    const browser = childrenOf(first.child.pid!);
    expect(browser.length).toBeGreaterThan(0);
    // As a terminal sends it, to the whole group; whoever started the command may pass it on to it again.
    process.kill(-first.child.pid!, 'SIGINT');
    first.child.kill('SIGINT');
    const calledOff = await first.ended;
    expect(calledOff.code).toBe(130);
    const [, stopped] =
      /^plumeline: It was called off after (\d+) of 300 pictures; the same command goes on from there, and with --anew it begins again\.\n$/m.exec(
        calledOff.err,
      ) ?? [];
    // Whole segments of fifty.
    expect(Number(stopped) % 50).toBe(0);
    expect(Number(stopped)).toBeGreaterThanOrEqual(50);
    expect(left()).toEqual(['cut.webm.journal']);
    for (const pid of browser) expect(() => process.kill(pid, 0)).toThrow(/ESRCH/);

    const before = size();
    const { child, ended } = startFilm([...args, '--out', at('cut.webm')]);
    await expect.poll(size, POLL).toBeGreaterThan(before);
    killChildren(child.pid!);
    const broken = await ended;
    expect(broken.code).toBe(1);
    expect(broken.err).toMatch(/browser.* What was recorded is kept: the same command goes on from there/);
    expect(left()).toEqual(['cut.webm.journal']);
    // What was being written when the power went.
    appendFileSync(journal, readFileSync(journal).subarray(0, 60));
    const stood = readFileSync(journal);
    const other = await film([...args, '--sheet', 'night', '--out', at('cut.webm')]);
    expect(other.code).toBe(2);
    expect(other.err).toMatch(/was recorded with another set of cues \(.*or begin anew with --anew\.\n$/);
    const { code, err } = await film([...args, '--out', at('cut.webm')]);
    expect(code).toBe(0);
    // It did not begin at the first picture: the first that it counts is the last one of a segment that stood.
    const [told = ''] = /\d+(?= of 300)/.exec(err) ?? [];
    if (told !== '') expect(Number(told)).toBeGreaterThanOrEqual(50);
    expect(stood.length).toBeGreaterThan(5000);
    expect(readFileSync(at('cut.webm')).equals(readFileSync(at('whole.webm')))).toBe(true);
    expect(left()).toEqual(['cut.webm']);
    const decoded = await decoder.decode(at('cut.webm'));
    expect(decoded.codes.map((square) => square?.frame)).toEqual(Array.from({ length: 300 }, (_, i) => i));
    expect(decoded.duration_s).toBeCloseTo(12, 3);
  });

  it('says that nothing is kept when it is called off before its first picture', async () => {
    const { child, ended } = startFilm([study, '--size', '320x180', '--out', at('none.webm')]);
    // Its browser is there; the study is being solved.
    await expect.poll(() => childrenOf(child.pid!).length, POLL).toBeGreaterThan(0);
    const browser = childrenOf(child.pid!);
    child.kill('SIGTERM');
    const { code, err } = await ended;
    expect(code).toBe(130);
    expect(err).toBe('plumeline: It was called off. Nothing of it was kept.\n');
    expect(readdirSync(folder).filter((name) => name.startsWith('none'))).toEqual([]);
    for (const pid of browser) expect(() => process.kill(pid, 0)).toThrow(/ESRCH/);
  });

  it('is H.264 at 60000/1001 with sound passed through', async () => {
    writeFileSync(at('tone.wav'), tone(2.5));
    const args = [study, '--size', '480x270', '--rate', '59.94', '--frame-code', '--sound', at('tone.wav')];
    expect((await film([...args, '--out', at('c.mp4')])).code).toBe(0);
    const decoded = await decoder.decode(at('c.mp4'));
    expect(decoded.codec).toBe('avc');
    expectEveryFrame(decoded, '59.94', 1 / 57_600);
    expect(decoded.colour).toMatchObject({ primaries: 'bt709', matrix: 'bt709', fullRange: false });
    expect(decoded.sound?.codec).toBe('pcm-s16');
    expect(decoded.sound?.duration_s).toBeCloseTo(2.5, 3);
  });

  it('is transparent where nothing is drawn', async () => {
    const args = [study, '--size', '320x568', '--rate', '24', '--alpha'];
    expect((await film([...args, '--out', at('d.webm')])).code).toBe(0);
    const decoded = await decoder.decode(at('d.webm'));
    expect(decoded).toMatchObject({ codec: 'vp9', frames: 72, canBeTransparent: true });
    // The encoder may ring by a few steps of 255.
    expect(decoded.alpha.corner).toBeLessThan(8);
    expect(decoded.alpha.most).toBeGreaterThan(240);
  });

  it('is numbered pictures with exact alpha, of which a broken-off recording keeps what it has', async () => {
    const args = [study, '--size', '320x180', '--rate', '24', '--alpha', '--out', at('e.png')];
    expect((await film(args)).code).toBe(0);
    const names = readdirSync(at('e'))
      .filter((name) => name.endsWith('.png'))
      .sort();
    expect(names.length).toBe(72);
    const picture = PNG.sync.read(readFileSync(join(at('e'), '0000040.png')));
    expect([picture.width, picture.height]).toEqual([320, 180]);
    expect(picture.data[4 * (2 * 320 + 318) + 3]).toBe(0);
    const whole = readFileSync(join(at('e'), '0000070.png'));
    // The first sixty stand: only the rest is drawn again, and is the same.
    for (const name of names.slice(60)) rmSync(join(at('e'), name));
    writeFileSync(join(at('e'), '0000010.png'), 'left as it is');
    expect((await film(args)).code).toBe(0);
    expect(readFileSync(join(at('e'), '0000010.png'), 'utf8')).toBe('left as it is');
    expect(readFileSync(join(at('e'), '0000070.png')).equals(whole)).toBe(true);
  });

  it('goes to ffmpeg for ProRes, in order, and says so where there is none', async () => {
    const stub = at('ffmpeg');
    // Stands in for the program: keeps its arguments, counts the pictures that come, writes its last argument.
    writeFileSync(
      stub,
      `#!${process.execPath}\nconst fs=require('fs');const chunks=[];process.stdin.on('data',(c)=>chunks.push(c));process.stdin.on('end',()=>{const all=Buffer.concat(chunks);let n=0;for(let i=all.indexOf('IHDR');i>=0;i=all.indexOf('IHDR',i+1))n++;fs.writeFileSync(process.argv.at(-1),JSON.stringify({n,args:process.argv.slice(2)}))});\n`,
    );
    chmodSync(stub, 0o755);
    const args = [study, '--size', '320x180', '--rate', '23.976', '--out', at('f.mov')];
    const { code, err } = await film(args, { PATH: `${folder}:${process.env['PATH'] ?? ''}` });
    expect(`${err}${code}`).toMatch(/0$/);
    const made = JSON.parse(readFileSync(at('f.mov'), 'utf8')) as { n: number; args: string[] };
    expect(made.n).toBe(72);
    expect(made.args.join(' ')).toMatch(
      /-framerate 24000\/1001 .*-profile:v 4444 -pix_fmt yuva444p10le .*-colorspace bt709/,
    );
    rmSync(stub);
    const without = await film([...args.slice(0, -1), at('g.mov')], {
      PATH: '/nowhere',
      PLUMELINE_BROWSER: '/usr/bin/chromium',
    });
    expect(without.code).toBe(1);
    expect(without.err).toMatch(/ProRes is written by the program ffmpeg, and this system has none/);
    expect(existsSync(at('g.mov'))).toBe(false);
  });

  it('says in one sentence that it needs a browser', async () => {
    const ended = await film([study, '--out', at('never.webm')], { PATH: '/nowhere', PLUMELINE_BROWSER: '' });
    expect(ended.code).toBe(1);
    expect(ended.err).toMatch(
      /^plumeline: A film is drawn by a browser of the Chromium family, and none was found.*\n$/,
    );
  });
});
