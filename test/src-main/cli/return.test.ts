import { fileURLToPath, pathToFileURL } from 'node:url';
import { describe, expect, it } from 'vitest';
import type { ReturnReview } from '../../../core/recovery/review.ts';
import { csvRows, plumeline, R1, ROOT } from './harness.ts';

interface PrintedReturn {
  readonly plan: string;
  readonly status: string;
  readonly used_kg: number;
  readonly reserve_kg: number;
  readonly kept_kg: number;
  readonly review: ReturnReview;
  readonly binding: readonly string[];
  readonly allowances: readonly {
    readonly body: string;
    readonly deorbit_kg: number;
    readonly landing_kg: number;
  }[];
}

const HEAVY = fileURLToPath(new URL('assets/demos/heavy.plumeline.json', pathToFileURL(`${ROOT}/`)));

const parse = (text: string): PrintedReturn => JSON.parse(text) as PrintedReturn;

describe('return', () => {
  it('flies the chosen return of a study home, and says what holds it', async () => {
    const { code, out, err } = await plumeline(['return', HEAVY, '--json']);
    expect(err).toBe('');
    expect(code).toBe(0);
    const json = parse(out);
    expect(json.plan).toBe('downrange');
    expect(json.kept_kg).toBe(88_000);
    const { review } = json;
    expect(review.burns.map((burn) => burn.phase)).toEqual(['entry', 'landing']);
    // Sums of the same numbers; the review flies more finely than the solve.
    expect(review.burns.reduce((sum, burn) => sum + burn.propellant_kg, 0)).toBeCloseTo(review.used_kg, 6);
    expect(Math.abs(review.used_kg - json.used_kg)).toBeLessThan(0.1);
    expect(review.touchdownSpeed_mps).toBeLessThan(1);
    expect(review.miss_m).toBeLessThan(5);
    // Peaks are found to 1e-6 of the limit.
    expect(review.peaks[0]!.value).toBeLessThan(70_000 * 1.00001);
    expect(json.binding.join()).toContain('dynamic pressure in the descent is at its limit');
    // By hand: 54.4 t land; e^(550/3599.04) − 1 = 0.16512, and e^(120/3599.04) − 1 = 0.033905 of the 63.38 t before.
    const [upper] = json.allowances;
    expect(upper!.landing_kg).toBeCloseTo(54_400 * 0.16512, -1);
    expect(upper!.deorbit_kg).toBeCloseTo(63_380 * 0.033905, -1);
  }, 60_000);

  it('writes the named return as CSV, with the reserve that it takes', async () => {
    const { code, out } = await plumeline(['return', HEAVY, '--plan', 'to-site', '--csv']);
    expect(code).toBe(0);
    const rows = new Map(csvRows(out).map((row) => [row['quantity']!, row['value']!]));
    expect(rows.get('plan')).toBe('to-site');
    expect(Number(rows.get('boostback propellant'))).toBeGreaterThan(50_000);
    expect(Number(rows.get('reserve')) / Number(rows.get('used'))).toBeCloseTo(1.03, 6);
    expect(Number(rows.get('miss'))).toBeLessThan(5);
  }, 60_000);

  it('gives no answer where the reserve falls short, and says what would do', async () => {
    const set = [
      '--plan',
      'to-site',
      '--set',
      'provenance={}',
      '--set',
      'returns.plans.to-site.reserve={"kind":"given"}',
    ];
    const { code, out, err } = await plumeline(['return', HEAVY, ...set]);
    expect(code).toBe(3);
    expect(err).toContain('The return takes more than is kept for it: 88.0 t');
    expect(out).toContain('no answer');
  }, 60_000);

  it('refuses a study without returns and a plan that is not there', async () => {
    const none = await plumeline(['return', R1]);
    expect(none.code).toBe(2);
    expect(none.err).toContain('a study without returns');
    const other = await plumeline(['return', HEAVY, '--plan', 'home']);
    expect(other.code).toBe(2);
    expect(other.err).toContain('allowed is downrange, to-site');
  });
});

describe('returns solved with the ascent', () => {
  it('says what together is worth against one after the other', async () => {
    const { code, out } = await plumeline(['return', HEAVY, '--plan', 'to-site', '--together', '--json']);
    expect(code).toBe(0);
    const { together, ...json } = JSON.parse(out) as PrintedReturn & {
      together: { payload_kg: number; sequence: { payload_kg: number; difference_kg: number } };
    };
    expect(json.reserve_kg / json.used_kg).toBeCloseTo(1.03, 6);
    expect(together.sequence.difference_kg).toBeCloseTo(
      together.payload_kg - together.sequence.payload_kg,
      6,
    );
    expect(together.sequence.difference_kg).toBeGreaterThan(100);
  }, 120_000);

  it('sweeps the gap with the return, and refuses one that is not there', async () => {
    const { code, out } = await plumeline([
      'sweep',
      HEAVY,
      '--gaps',
      '0,-2',
      '--with-return',
      'to-site',
      '--csv',
    ]);
    expect(code).toBe(0);
    const rows = csvRows(out);
    expect(rows.map((row) => row['status'])).toEqual(['converged', 'converged']);
    expect(Number(rows[1]!['returnTakes_kg'])).toBeGreaterThan(Number(rows[0]!['returnTakes_kg']));
    const other = await plumeline(['modes', HEAVY, '--with-return', 'home']);
    expect(other.code).toBe(2);
    expect(other.err).toContain('--with-return: received "home", allowed is downrange, to-site');
  }, 120_000);
});

describe('a study that chooses a return which keeps what it takes', () => {
  const TAKEN = ['--set', 'returns.chosen=["to-site"]'];
  const GIVEN = [
    ...TAKEN,
    ...['--set', 'provenance={}', '--set', 'returns.plans.to-site.reserve={"kind":"given"}'],
  ];
  const json = async (...args: string[]): Promise<Record<string, unknown>> => {
    const { code, out } = await plumeline([...args, '--json']);
    return { ...(JSON.parse(out) as object), code };
  };

  it('has the payload of "return --together", and says what is kept, in every form', async () => {
    const own = await json('payload', HEAVY, ...TAKEN);
    const named = await json('return', HEAVY, '--plan', 'to-site', '--together');
    expect(own['code']).toBe(0);
    expect(own['payload_kg']).toBe(named['payload_kg']);
    const [verdict] = own['returns'] as { state: string; takes_kg: number; kept_kg: number }[];
    expect(verdict).toMatchObject({
      state: 'taken',
      takes_kg: named['used_kg'],
      kept_kg: named['reserve_kg'],
    });
    // The study knows no other answer.
    const unnamed = await json('return', HEAVY, ...TAKEN);
    expect(unnamed['payload_kg']).toBe(own['payload_kg']);
    const { out } = await plumeline(['payload', HEAVY, ...TAKEN, '--csv']);
    const rows = new Map(csvRows(out).map((row) => [row['quantity']!, row['value']!]));
    expect(rows.get('return to-site')).toBe('taken');
    expect(Number(rows.get('return to-site kept'))).toBe(named['reserve_kg']);
    const people = await plumeline(['fly', HEAVY, ...TAKEN, '--solve']);
    expect(people.code).toBe(0);
    expect(people.out).toMatch(
      /Booster keeps 15\d\.\d\d t for “Back to the launch site”, solved with the ascent/,
    );
    expect(people.out).toContain('flown to insertion');
  }, 120_000);

  it('sweeps its gap as "--with-return" does, and says what held steering keeps', async () => {
    const { code, out } = await plumeline(['sweep', HEAVY, ...TAKEN, '--gaps', '0,-2', '--csv']);
    expect(code).toBe(0);
    const named = await plumeline(['sweep', HEAVY, '--gaps', '0,-2', '--with-return', 'to-site', '--csv']);
    const rows = csvRows(out);
    csvRows(named.out).forEach((row, i) => {
      // Both stop within the same tolerances, good to some grams each.
      expect(Math.abs(Number(rows[i]!['payload_kg']) - Number(row['payload_kg']))).toBeLessThan(0.05);
    });
    const people = await plumeline(['sweep', HEAVY, ...TAKEN, '--gaps', '0,-2']);
    expect(people.out).toContain('All steering and the return re-solved in one problem, orbit met');
    expect(people.out).toContain('what is kept for the return kept; no return is solved');
    expect(people.out).toContain('Booster keeps what it takes and 3.0 % more.');
  }, 120_000);

  it('is no full answer where what is given is too little, and says by how much', async () => {
    const { code, out, err } = await plumeline(['payload', HEAVY, ...GIVEN]);
    expect(code).toBe(3);
    expect(err).toMatch(
      /The reserve of Booster is too small: 88\.00 t are kept .* t are missing; to keep them would cost/,
    );
    expect(out.split('\n')[1]).toContain('The reserve of Booster is too small');
    const enough = await plumeline(['payload', HEAVY]);
    expect(enough.code).toBe(0);
    expect(enough.out).toMatch(/The reserve of Booster is held at 88\.00 t: .* are spare, worth/);
    const rates = await plumeline(['rates', HEAVY, '--find', 'residual']);
    expect(rates.out).toContain(
      'The reserve of Booster is held at 88.00 t; whether “Down on the sea” gets by with it',
    );
  }, 120_000);
});
