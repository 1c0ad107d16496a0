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
