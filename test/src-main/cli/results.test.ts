import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { CAUTION } from '../../../core/contract/caution.ts';
import { contentHash } from '../../../core/contract/contentHash.ts';
import { loadStudy, saveStudy } from '../../../core/contract/load.ts';
import type { Study } from '../../../core/contract/study.ts';
import { withGap } from '../../../core/study/gap.ts';
import reference from '../../published/r1/reference.json' with { type: 'json' };
import { csvRows, plumeline, R1, type Printed } from './harness.ts';

const study = ((): Study => {
  const loaded = loadStudy(readFileSync(R1, 'utf8'));
  if (!loaded.ok) throw new Error('R1 does not load');
  return loaded.study;
})();
const HASH = contentHash(study);
/** What an independent implementation found; see test/published/r1. */
const [THEIRS_kg = Number.NaN] = reference.gap_sweep.payload_kg;

const folder = mkdtempSync(join(tmpdir(), 'plumeline-cli-'));
afterAll(() => {
  rmSync(folder, { recursive: true });
});

const parse = (text: string): Printed => JSON.parse(text) as Printed;

/** The first figure after some words in a table, thousands' spaces and true minus undone. */
function figureAfter(text: string, words: string): number {
  const [, figure = 'none'] = new RegExp(`^${words}\\s+([−+]?[\\d.\\u202f]+)`, 'm').exec(text) ?? [];
  return Number(figure.replaceAll('\u202f', '').replace('−', '-'));
}

describe('payload', () => {
  it('finds the payload of R1 as the independent implementation does', async () => {
    const { code, out, err } = await plumeline(['payload', R1, '--json']);
    expect(err).toBe('');
    expect(code).toBe(0);
    const json = parse(out);
    expect(json.status).toBe('converged');
    // Within 10 kg: the two integrate and interpolate differently.
    expect(Math.abs(json.payload_kg - THEIRS_kg)).toBeLessThan(10);
    expect(json.caution).toBe(CAUTION);
    expect(json.inputs).toBe(HASH);
    expect(json.parameters[0]).toMatchObject({ path: 'payload.mass_kg', value: json.payload_kg, unit: 'kg' });
    // The flight reported is that of the answer: it comes to the orbit, within what the finer integration moves it.
    expect(Math.abs(json.orbit.perigeeHeight_m - study.target.perigee_m)).toBeLessThan(2);
    expect(Math.abs(json.ledger.closure_mps)).toBeLessThan(1e-6 * json.ledger.ideal_mps);
    expect(json.log.map((entry) => entry.id)).toEqual(expect.arrayContaining(['meco', 'insertion']));
  });

  it('prints for people the same figures, with the caution as the last line', async () => {
    const { out } = await plumeline(['payload', R1]);
    const json = parse((await plumeline(['payload', R1, '--json'])).out);
    expect(out).toContain(`${(json.payload_kg / 1000).toFixed(2)} t of payload reach the orbit`);
    expect(figureAfter(out, 'less gravity')).toBeCloseTo(json.ledger.gravity_mps, 1);
    expect(figureAfter(out, 'less steering')).toBeCloseTo(json.ledger.steering_mps, 1);
    expect(out.trimEnd().split('\n').slice(-2)).toEqual([`Inputs ${HASH}`, CAUTION]);
    const csv = (await plumeline(['payload', R1, '--csv'])).out;
    expect(csv.split('\n').slice(0, 2)).toEqual([`# ${CAUTION}`, `# inputs ${HASH}`]);
    const row = csvRows(csv).find((each) => each['quantity'] === 'payload');
    expect(Number(row!['value'])).toBe(json.payload_kg);
  });

  it('is solved again from starts around the answer when asked to', async () => {
    const { code, out } = await plumeline(['payload', R1, '--restarts', '4']);
    expect(code).toBe(0);
    expect(out).toMatch(
      /Solved again from 4 starts around the answer: 4 converged; 4 came to the answer within 0\.1 kg/,
    );
    const wrong = await plumeline(['payload', R1, '--restarts', 'many']);
    expect(wrong.code).toBe(2);
    expect(wrong.err).toMatch(/--restarts: received "many", allowed is a whole number of at least 0/);
  });

  it('shows no number where there is no answer, says why, and ends with code 3', async () => {
    const args = ['payload', R1, '--set', 'vehicle.bodies.upper.dryMass_kg=700 t'];
    const { code, out, err } = await plumeline([...args, '--json']);
    expect(code).toBe(3);
    expect(err).toMatch(/^plumeline: The empty vehicle has an ideal velocity of/);
    const json = parse(out);
    expect(json.status).toBe('cannotReachOrbit');
    expect(json.payload_kg).toBeNull();
    expect(json).not.toHaveProperty('parameters');
    const people = await plumeline(args);
    expect(people.code).toBe(3);
    expect(people.out).not.toContain('t of payload');
    expect(people.out).toContain('no answer');
  });

  it('computes under changed values, units as they are typed', async () => {
    const plain = await plumeline([
      'payload',
      R1,
      '--json',
      '--set',
      'vehicle.bodies.upper.dryMass_kg=63000',
    ]);
    const typed = await plumeline([
      'payload',
      R1,
      '--json',
      '--set',
      'vehicle.bodies.upper.dryMass_kg = 63 t',
    ]);
    expect(typed.out).toBe(plain.out);
    const json = parse(plain.out);
    expect(json.inputs).not.toBe(HASH);
    // A tonne more of upper stage is very nearly a tonne less of payload: both ride to the orbit.
    expect(Math.abs(THEIRS_kg - json.payload_kg - 1000)).toBeLessThan(10);
    // Degrees typed in radians come back to the same degrees; an entry of a list has the list's unit.
    const kick = 'sequence.events.kick.action.law.angle_deg';
    const degrees = await plumeline(['fly', R1, '--json', '--set', `${kick}=2.5`]);
    const named = await plumeline(['fly', R1, '--json', '--set', `${kick}=2.5 deg`]);
    expect(named.out).toBe(degrees.out);
    const list = ['--set', 'vehicle.aerodynamics.0.dragCoefficient.value.0=30 %'];
    expect((await plumeline(['fly', R1, ...list])).code).toBe(0);
    // What may be left out may be set, and what is no number as well.
    const more = [
      '--set',
      'target.inclination_deg=30',
      '--set',
      'earth.gravity=j2',
      '--set',
      'title=Another',
    ];
    const other = parse((await plumeline(['payload', R1, '--json', ...more])).out);
    expect(other.study).toBe('Another');
    expect(other.orbit.inclination_rad).toBeCloseTo(Math.PI / 6, 6);
  });

  it('takes the gap from its option, negative too', async () => {
    const json = parse((await plumeline(['payload', R1, '--json', '--gap', '-500 ms'])).out);
    expect(json.gaps[0]!.command_s).toBeCloseTo(-0.5, 9);
    expect(json.inputs).toBe(contentHash(withGap(study, 'ignition', -0.5)));
  });
});

describe('fly', () => {
  it("flies the study's own numbers, or those of the answer", async () => {
    const own = parse((await plumeline(['fly', R1, '--json'])).out);
    expect(own.flight.code).toBe('flown');
    expect(own.parameters[0]!.value).toBe(study.payload.mass_kg);
    const solved = parse((await plumeline(['fly', R1, '--solve', '--json'])).out);
    expect(Math.abs(solved.parameters[0]!.value - THEIRS_kg)).toBeLessThan(10);
    expect(solved.solve.status).toBe('converged');
    expect(solved.tracks.map((track) => `${track.id} ${track.end}`)).toEqual([
      'main insertion',
      'booster impact',
    ]);
  });

  it('writes the event log as a table and as CSV', async () => {
    const json = parse((await plumeline(['fly', R1, '--json'])).out);
    const rows = csvRows((await plumeline(['fly', R1, '--csv'])).out);
    expect(rows).toHaveLength(json.log.length);
    const meco = rows.find((row) => row['id'] === 'meco');
    expect(Number(meco!['time_s'])).toBeCloseTo(json.log.find((e) => e.id === 'meco')!.time_s, 12);
    const { out } = await plumeline(['fly', R1]);
    for (const entry of json.log) expect(out).toContain(entry.name);
    expect(out.trimEnd().endsWith(CAUTION)).toBe(true);
  });

  it('shows how far a flight came that broke off, and ends with code 3', async () => {
    const weak = ['--set', 'vehicle.bodies.upper.engineGroups.main.thrustVacuum_N=60 kN'];
    const { code, out, err } = await plumeline(['fly', R1, '--json', ...weak]);
    expect(code).toBe(3);
    expect(err).toMatch(/falls back to the ground/);
    const json = parse(out);
    expect(json.flight.code).toBe('impact');
    expect(json.orbit).toBeNull();
    expect(json.log.length).toBeGreaterThan(5);
  });
});

describe('sweep', () => {
  it('gives the published curve, with its modes and ledgers, as JSON', async () => {
    const { code, out, err } = await plumeline(['sweep', R1, '--json']);
    expect(err).toBe('');
    expect(code).toBe(0);
    const json = parse(out);
    expect(json.inputs).toBe(HASH);
    expect(json.points).toHaveLength(21);
    const curve = json.points.filter((each) => each.mode === 'reoptimised');
    reference.gap_sweep.gap_s.forEach((gap_s, i) => {
      const point = curve.find((each) => each.gap_s === gap_s);
      // The published figures are round to percentage points of the payload without a gap.
      expect(
        Math.abs(100 * (point!.payload_kg - reference.gap_sweep.payload_kg[i]!)) / THEIRS_kg,
      ).toBeLessThan(0.05);
    });
    // The slope at 15 s against the difference of its neighbours on the same curve, whose third derivative is small.
    const at = (gap_s: number) => curve.find((each) => each.gap_s === gap_s);
    const slope = (at(20)!.payload_kg - at(10)!.payload_kg) / 10;
    expect(Math.abs(at(15)!.payloadPerSecond_kgps! / slope - 1)).toBeLessThan(1e-3);
    for (const point of json.points) {
      expect(point.closedOn).toBe(point.mode === 'fixed' ? 'orbital energy' : 'target orbit');
      expect(point.ledger.ideal_mps).toBeGreaterThan(9000);
      if (point.mode === 'fixed') expect(point.payloadPerSecond_kgps).toBeNull();
    }
  });

  it('prints a table a mode, says that the fixed one misses the orbit, and differences of the ledger', async () => {
    const args = ['sweep', R1, '--gaps', '0,10'];
    const { out } = await plumeline(args);
    const json = parse((await plumeline([...args, '--json'])).out);
    const [zero, ten] = json.points;
    expect(out).toContain('misses the target orbit');
    expect(out).toContain('perigee, km');
    const payload = Math.round(ten!.payload_kg)
      .toString()
      .replace(/(\d{3})$/, '\u202f$1');
    expect(out).toContain(payload);
    const losses = out.slice(out.indexOf('Losses against'));
    const gravity = `+${(ten!.ledger.gravity_mps - zero!.ledger.gravity_mps).toFixed(1)}`;
    expect(losses).toContain(gravity);
    expect(out.trimEnd().endsWith(CAUTION)).toBe(true);
    const only = await plumeline([...args, '--modes', 'held']);
    expect(only.out).not.toContain('misses the target orbit');
    expect(only.out).toContain('Booster steering kept');
  });

  it('writes CSV with the caution and the hash, the gaps in the order asked for', async () => {
    const { code, out } = await plumeline([
      'sweep',
      R1,
      '--csv',
      '--gaps',
      '2,-1,0',
      '--modes',
      'held,reoptimised',
    ]);
    expect(code).toBe(0);
    expect(out.split('\n').slice(0, 2)).toEqual([`# ${CAUTION}`, `# inputs ${HASH}`]);
    const rows = csvRows(out);
    expect(rows.map((row) => [row['mode'], row['gap_s']].join(' '))).toEqual([
      ...['held 2', 'held -1', 'held 0'],
      ...['reoptimised 2', 'reoptimised -1', 'reoptimised 0'],
    ]);
    // 0 is among the gaps, so it is the reference.
    expect(Number(rows[2]!['share'])).toBeCloseTo(1, 9);
  });

  it('steps from one gap to another without a crumb of rounding, and refers to the gap asked for', async () => {
    const args = [
      '--from',
      '0.1',
      '--to',
      '400 ms',
      '--step',
      '0.1',
      '--modes',
      'reoptimised',
      '--reference',
      '0.3',
    ];
    const json = parse((await plumeline(['sweep', R1, '--json', ...args])).out);
    expect(json.points.map((point) => point.gap_s)).toEqual([0.1, 0.2, 0.3, 0.4]);
    expect(json.reference.gap_s).toBe(0.3);
    expect(json.points[2]!.share).toBeCloseTo(1, 9);
  });

  it('keeps a point without an answer with its reason, and ends with code 3', async () => {
    const args = ['sweep', R1, '--gaps', '0,600', '--modes', 'reoptimised'];
    const { code, out, err } = await plumeline(args);
    expect(code).toBe(3);
    expect(err).toBe('plumeline: no answer at 1 of 2 points; each says why.\n');
    expect(out).toContain('not solved');
    expect(out).toMatch(/^At 600 s: [A-Z].*\.$/m);
    const [, lost] = csvRows((await plumeline([...args, '--csv'])).out);
    expect(lost!['payload_kg']).toBe('');
    expect(lost!['reason']).toMatch(/^[A-Z].*\.$/);
  });
});

describe('the file of --out', () => {
  it('holds what would have been printed', async () => {
    const path = join(folder, 'answer.json');
    const { code, out } = await plumeline(['payload', R1, '--json', '--out', path]);
    expect(code).toBe(0);
    expect(out).toBe('');
    expect(readFileSync(path, 'utf8')).toBe((await plumeline(['payload', R1, '--json'])).out);
    // The study written by the program itself is the same study.
    const copy = join(folder, 'copy.plumeline.json');
    writeFileSync(copy, saveStudy(study));
    expect(parse((await plumeline(['fly', copy, '--json'])).out).inputs).toBe(HASH);
  });

  it('stays as it was when the command is cancelled', async () => {
    const path = join(folder, 'kept.csv');
    writeFileSync(path, 'old');
    let asked = 0;
    const interrupted = (): boolean => ++asked > 60;
    const { code, out, err } = await plumeline(['sweep', R1, '--csv', '--out', path], { interrupted });
    expect(code).toBe(130);
    expect(out).toBe('');
    expect(err).toBe('plumeline: cancelled; nothing was written\n');
    expect(readFileSync(path, 'utf8')).toBe('old');
    expect(readdirSync(folder).filter((name) => name.startsWith('kept'))).toEqual(['kept.csv']);
  });

  it('is refused with a sentence and code 1 where it cannot be written', async () => {
    const { code, err } = await plumeline(['fly', R1, '--out', folder]);
    expect(code).toBe(1);
    expect(err).toMatch(/^plumeline: --out: “[^”]+” cannot be written: [^\n]+\.\n$/);
  });
});
