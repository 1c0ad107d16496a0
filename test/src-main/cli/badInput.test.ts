import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { plumeline, R1 } from './harness.ts';

const folder = mkdtempSync(join(tmpdir(), 'plumeline-bad-'));
afterAll(() => {
  rmSync(folder, { recursive: true });
});

/** Arguments, and the one sentence that they must lead to. */
const TABLE: readonly (readonly [string, readonly string[], RegExp])[] = [
  [
    'an unknown command',
    ['soar', R1],
    /command soar: received an unknown command, allowed is fly, payload, .*sweep, map, spread, rates, claim, merge/,
  ],
  [
    'an unknown option',
    ['fly', R1, '--speed'],
    /option --speed: received an unknown option, allowed is --help, --json/,
  ],
  ['no study', ['payload'], /STUDY: received nothing, allowed is the path of a study file/],
  ['two studies', ['payload', R1, R1], /too many arguments/],
  ['an option without its value', ['fly', R1, '--gap'], /--gap <time>' argument missing/],
  ['two forms at once', ['fly', R1, '--json', '--csv'], /'--json' cannot be used with option '--csv'/],
  [
    'a list and a range',
    ['sweep', R1, '--gaps', '0', '--to', '3'],
    /'--gaps <list>' cannot be used with option '--to/,
  ],
  [
    'a file that is not there',
    ['fly', 'no/such.json'],
    /STUDY: received "no\/such\.json", which is not there, allowed is the path of a study file or the name of a demo: ondel\./,
  ],
  ['a demo that is not there', ['fly', 'ondle'], /STUDY: received "ondle".* name of a demo: ondel\./],
  ['a folder', ['fly', folder], /STUDY: “[^”]+” cannot be read: it is/],
  ['a unit of another dimension', ['fly', R1, '--gap', '3 km'], /--gap: received "3 km", allowed is a time/],
  ['a word for a gap', ['fly', R1, '--gap', 'long'], /--gap: received "long", allowed is a time/],
  [
    'a gap beyond the allowed ones',
    ['fly', R1, '--gap', '2000'],
    /--gap: .*gap_s: received 2000, allowed is .*600/,
  ],
  [
    'a gap event that is none',
    ['fly', R1, '--gap', '1', '--event', 'meco'],
    /received "meco", allowed is ignition/,
  ],
  [
    'a change without a value',
    ['fly', R1, '--set', 'payload.mass_kg'],
    /--set: received "payload\.mass_kg", allowed is path=value/,
  ],
  ['a change of nothing', ['fly', R1, '--set', '=3'], /--set: received "=3", allowed is path=value/],
  [
    'a change at an unknown path',
    ['fly', R1, '--set', 'vehicle.bodies.uper.dryMass_kg=3'],
    /vehicle\.bodies\.uper: received the unknown name "uper", .*did you mean "upper"/,
  ],
  [
    'a change to a wrong unit',
    ['fly', R1, '--set', 'payload.mass_kg=3 MN'],
    /--set payload\.mass_kg: received "3 MN", allowed is a mass/,
  ],
  [
    'a decimal comma',
    ['fly', R1, '--set', 'payload.mass_kg=3,5 t'],
    /--set payload\.mass_kg: received "3,5 t", allowed is a mass .*write 3\.5/,
  ],
  [
    'a change to a forbidden value',
    ['fly', R1, '--set', 'payload.mass_kg=-1'],
    /payload\.mass_kg: received -1, allowed is a number of at least 0/,
  ],
  [
    'a change to a forbidden word',
    ['fly', R1, '--set', 'earth.gravity=flat'],
    /earth\.gravity: received "flat", allowed is "central" or "j2"/,
  ],
  [
    'an unknown mode',
    ['sweep', R1, '--modes', 'held,free'],
    /--modes: received "free", allowed is some of reoptimised,held,fixed/,
  ],
  ['an empty place in a list', ['sweep', R1, '--gaps', '1,,2'], /--gaps: received "", allowed is a time/],
  ['a gap twice', ['sweep', R1, '--gaps', '1,2,1'], /--gaps: received 1 s twice, allowed is each gap once/],
  [
    'a range that runs backwards',
    ['sweep', R1, '--from', '5', '--to', '0'],
    /--to: received 0 s, allowed is 5 s/,
  ],
  ['a step of nothing', ['sweep', R1, '--step', '0'], /--step: received 0 s, allowed is more than 0 s/],
  [
    'more points than anyone waits for',
    ['sweep', R1, '--step', '0.001'],
    /--step: received 0\.001 s, which makes 30001 points, allowed is at most 1000/,
  ],
  [
    'gaps beyond the allowed ones',
    ['sweep', R1, '--to', '5000', '--step', '100'],
    /--from, --to: .*gap_s: received 5000, allowed is/,
  ],
  [
    'a reference beyond the allowed ones',
    ['sweep', R1, '--reference', '-99'],
    /--reference: .*gap_s: received -99, allowed is/,
  ],
];

describe('bad input', () => {
  for (const [what, args, sentence] of TABLE) {
    it(`answers ${what} with one sentence and code 2, and computes nothing`, async () => {
      const { code, out, err } = await plumeline(args);
      expect(err).toMatch(sentence);
      expect(err).toMatch(/^plumeline: [^\n]+[.?]\n$/);
      expect(out).toBe('');
      expect(code).toBe(2);
    });
  }

  it('tells each mistake of a file in a sentence of its own, with the file', async () => {
    const path = join(folder, 'two.plumeline.json');
    writeFileSync(path, '{"format": 1, "title": ""}');
    const { code, err } = await plumeline(['fly', path]);
    expect(code).toBe(2);
    const lines = err.trimEnd().split('\n');
    expect(lines.length).toBeGreaterThan(3);
    for (const line of lines) expect(line.startsWith(`plumeline: ${path}: `)).toBe(true);
    writeFileSync(path, '{"format": 1,\n  "title": }');
    expect((await plumeline(['fly', path])).err).toMatch(
      /two\.plumeline\.json: line 2, column 12: received "}", allowed/,
    );
  });

  it('lists no demos where there are none', async () => {
    const { code, err } = await plumeline(['fly', 'heavy'], { demosFolder: join(folder, 'none') });
    expect(code).toBe(2);
    expect(err).toContain('no demos are installed');
  });

  it('takes a demo by its name, also where a folder of that name stands', async () => {
    mkdirSync(join(folder, 'ondel'));
    const before = process.cwd();
    process.chdir(folder);
    try {
      const { err, out } = await plumeline(['fly', 'ondel', '--json']);
      expect(err).not.toContain('STUDY');
      expect((JSON.parse(out) as { command: string }).command).toBe('fly');
    } finally {
      process.chdir(before);
    }
  });

  it('documents its exit codes in every help', async () => {
    for (const args of [['--help'], ['fly', '--help'], ['payload', '--help'], ['sweep', '--help']]) {
      const { code, out } = await plumeline(args);
      expect(code).toBe(0);
      for (const exit of ['0 ', '1 ', '2 ', '3 ', '130 '])
        expect(out).toMatch(new RegExp(`^  ${exit} +\\w`, 'm'));
    }
  });
});
