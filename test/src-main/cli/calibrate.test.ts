import { mkdtemp, readFile, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { loadStudy } from '../../../core/contract/load.ts';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { launchFrame } from '../../../core/flight/launch.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { TrackReader } from '../../../core/flight/track.ts';
import type { Calibration } from '../../../core/study/calibration/calibrate.ts';
import { withNumbers } from '../../../core/study/numbers.ts';
import { r1 } from '../../core/flight/studies.ts';
import { plumeline } from './harness.ts';

const PATH = 'vehicle.bodies.booster.engineGroups.main.ispVacuum_s';
const TRUE_s = 336.5;
let study = '';
let points = '';
let folder = '';

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'calibrate-'));
  const own = r1((s) => {
    s.provenance[PATH] = { source: 'invented', spread: { shape: 'normal', low: 335, high: 341 } };
  });
  study = join(folder, 'own.plumeline.json');
  await writeFile(study, JSON.stringify(own));
  const compiled = compileStudy(withNumbers(own, [{ path: PATH, value: TRUE_s }]));
  const record = recordFlight(compiled, startValues(compiled));
  const launch = launchFrame(compiled.site, record.values[1]!);
  const reader = new TrackReader(compiled, record.tracks[0]!, record.values, launch);
  // As somebody would type it off a screen: kilometres and kilometres an hour.
  const rows = [30, 60, 90, 120, 140].map((time_s) => {
    const now = reader.at(time_s);
    return [time_s, now.height_m / 1000, 0.1, now.speedRelative_mps * 3.6, 5].join(',');
  });
  points = join(folder, 'seen.csv');
  await writeFile(
    points,
    ['time [s], altitude [km], altitude error [km], speed [km/h], speed error [km/h]', ...rows].join('\n'),
  );
});

describe('plumeline calibrate', () => {
  it('finds the planted impulse, tells it in three forms and writes a study that flies', async () => {
    const file = join(folder, 'new.plumeline.json');
    const args = ['calibrate', study, '--points', points, '--fit', PATH];
    const { code, out } = await plumeline([...args, '--json', '--out', file]);
    expect(code).toBe(0);
    const found = JSON.parse(out) as Calibration;
    const { value, deviation } = found.inputs[0]!;
    expect(Math.abs(value - TRUE_s)).toBeLessThan(deviation);
    expect(deviation).toBeLessThan(0.5);
    const written = loadStudy(await readFile(file, 'utf8'));
    if (!written.ok) throw new Error(written.problems.map((problem) => problem.sentence).join('\n'));
    expect(written.study.vehicle.bodies['booster']!.engineGroups['main']!.ispVacuum_s).toBe(value);
    expect((await plumeline(['fly', file])).code).toBe(0);
    const people = await plumeline(args);
    expect(people.out).toContain('1 input calibrated to 10 points. Converged');
    expect((await plumeline([...args, '--csv'])).out).toMatch(/^altitude,30,/m);
  });

  it('says what it cannot read or fit, and writes nothing then', async () => {
    const args = ['calibrate', study, '--points', points, '--fit'];
    expect((await plumeline([...args, 'payload.mass_kg'])).err).toMatch(
      /--fit: received payload\.mass_kg, whose provenance/,
    );
    expect(
      (await plumeline(['calibrate', study, '--points', join(folder, 'none.csv'), '--fit', PATH])).code,
    ).toBe(2);
    const late = join(folder, 'late.csv');
    await writeFile(late, 'time [s], speed [m/s], speed error [m/s]\n5000, 1, 1\n');
    const file = join(folder, 'never.plumeline.json');
    const beyond = await plumeline([
      'calibrate',
      study,
      '--points',
      late,
      '--fit',
      PATH,
      '--json',
      '--out',
      file,
    ]);
    expect(beyond.code).toBe(3);
    expect(beyond.err).toMatch(/5000 s lies outside the flight/);
    expect(beyond.out).not.toContain('"inputs": [');
    await expect(readFile(file, 'utf8')).rejects.toThrow(/ENOENT/);
  });
});
