import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { plumeline, type Ended } from './harness.ts';

const HEAVY = fileURLToPath(new URL('../../../assets/demos/heavy.plumeline.json', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'plumeline-spread-'));
afterAll(() => {
  rmSync(folder, { recursive: true });
});
const at = (name: string): string => join(folder, name);
const slice = (members: string, out: string, ...more: string[]): Promise<Ended> =>
  plumeline([
    'spread',
    HEAVY,
    '--gaps',
    '10,-1.5',
    '--members',
    members,
    '--out',
    at(out),
    '--threads',
    '1',
    ...more,
  ]);

describe('plumeline spread and merge', () => {
  it('writes slices that merge to the bytes of the whole, and continues one', async () => {
    const whole = await slice('0:7', 'whole.json');
    expect(whole.code).toBe(0);
    expect(whole.out).toContain('gap of -1.5 s less gap of 10 s, kg');
    expect((await slice('3:7', 'b.json')).code).toBe(0);
    expect((await slice('0:3', 'a.json')).code).toBe(0);
    const merged = await plumeline([
      'merge',
      at('b.json'),
      at('a.json'),
      '--out',
      at('merged.json'),
      '--json',
    ]);
    expect(merged.code).toBe(0);
    expect((JSON.parse(merged.out) as { summary: { solved: number } }).summary.solved).toBe(7);
    const bytes = readFileSync(at('whole.json'));
    expect(readFileSync(at('merged.json')).equals(bytes)).toBe(true);
    expect((await slice('0:7', 'a.json', '--resume')).code).toBe(0);
    expect(readFileSync(at('a.json')).equals(bytes)).toBe(true);
  });

  it('refuses to mix seeds, and members that are there already', async () => {
    await slice('0:1', 'one.json');
    await slice('1:2', 'other.json', '--seed', '2');
    const mixed = await plumeline(['merge', at('one.json'), at('other.json')]);
    expect(mixed.code).toBe(2);
    expect(mixed.err).toBe('plumeline: Part 2 does not belong with part 1: it has the seed 2, not 1.\n');
    const twice = await plumeline(['merge', at('one.json'), at('one.json')]);
    expect(twice.code).toBe(2);
    expect(twice.err).toContain('are there already');
  });

  it('keeps what is done when it is cancelled', async () => {
    // The clock is asked at the start and once or twice a piece: some pieces are done by then, and many are not.
    let asked = 0;
    const ended = await plumeline(
      ['spread', HEAVY, '--members', '0:400', '--threads', '1', '--out', at('cut.json')],
      { now_ms: () => asked++, interrupted: () => asked > 7 },
    );
    expect(ended.code).toBe(130);
    expect(ended.err).toContain('can be continued with --resume');
    const { members } = JSON.parse(readFileSync(at('cut.json'), 'utf8')) as { members: [number, number][] };
    expect(members).toHaveLength(1);
    expect(members[0]![1]).toBeLessThan(400);
  });

  it.each([
    [['--members', '5:5'], '--members: received "5:5", allowed is a number of members'],
    [['--seed', 'x'], '--seed: received "x", allowed is a whole number from 0'],
    [['--case', 'a: vehicle.mass=3'], 'vehicle.mass: received the unknown name "mass"'],
    [['--case', 'a'], '--case: received "a"'],
    [['--resume'], '--resume: received no --out'],
  ])('answers %j with a sentence', async (options, sentence) => {
    const { code, err } = await plumeline(['spread', HEAVY, '--threads', '1', ...options]);
    expect(code).toBe(2);
    expect(err).toContain(sentence);
  });
});
