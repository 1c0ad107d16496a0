import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { csvRows, plumeline } from './harness.ts';

const demosFolder = fileURLToPath(new URL('../../../assets/demos', import.meta.url));
const run = (...args: string[]): ReturnType<typeof plumeline> => plumeline(args, { demosFolder });

interface Part {
  readonly verdict: string;
  readonly recontact: { readonly place: string; readonly time_s: number } | null;
  readonly table: readonly { readonly time_s: number; readonly gap_m: number }[];
  readonly safeIgnition: { readonly delay_s: number | null };
}

describe('part', () => {
  it('shows that the small demo parts clear, and when it is safe to light', async () => {
    const { code, out, err } = await run('part', 'small', '--json', '--clearance', '150 cm');
    expect(err).toBe('');
    expect(code).toBe(0);
    const json = JSON.parse(out) as Part;
    expect(json.verdict).toBe('clear');
    expect(json.recontact).toBeNull();
    expect(json.safeIgnition.delay_s).toBeGreaterThan(0.5);
    expect(json.table.every(({ gap_m }, i) => i === 0 || gap_m > json.table[i - 1]!.gap_m)).toBe(true);
  });

  it('finds that a failed spring makes the bodies touch, says where, and ends with code 3', async () => {
    const { code, out, err } = await run('part', 'small', '--failed-spring');
    expect(code).toBe(3);
    expect(err).toContain('touch again');
    expect(out).toContain('with 1 spring or pusher failed');
    expect(out).toContain('at the rim of the interstage');
    expect(out).toContain('gap, m');
  });

  it('tells how the propellant lies when thrust sets in, by which criterion, and the motor that is missing', async () => {
    const { out } = await run('part', 'small');
    expect(out).toContain('the propellant of "upper" is unsettled.');
    expect(out).toMatch(/Oxygen tank +[\d.\u202F ]+ +not held +[−\d.]+ +71 +unsettled/);
    expect(out).toContain('critical Bond number 0.842');
    expect(out).toMatch(/Settling motors of \d+ N for \d\.\d\d s, with \d\.\d\d kg of propellant/);
    const json = JSON.parse((await run('part', 'small', '--json')).out) as {
      settling: { state: string; tanks: { id: string; margin: number }[] };
      settlingMotor: { thrust_N: number; burn_s: number; propellant_kg: number };
    };
    expect(json.settling.state).toBe('unsettled');
    expect(json.settling.tanks.map(({ margin }) => margin)).toEqual([0, 0]);
    const { thrust_N, burn_s, propellant_kg } = json.settlingMotor;
    // Impulse over the stated specific impulse of 230 s.
    expect(propellant_kg).toBeCloseTo((thrust_N * burn_s) / (230 * 9.80665), 9);
    expect((await run('part', 'heavy')).out).toContain(
      'the propellant of "upper" is settled, all tanks settled from',
    );
  });

  it('refuses what is no count, no length and no link, with one sentence each', async () => {
    const count = await run('part', 'small', '--failed-spring', 'two');
    expect([count.code, count.err]).toEqual([
      2,
      'plumeline: --failed-spring: received "two", allowed is a whole number of at least 0.\n',
    ]);
    const length = await run('part', 'small', '--clearance', '0 m');
    expect(length.code).toBe(2);
    expect(length.err).toContain('--clearance: received "0 m", allowed is a length above 0');
    const link = await run('part', 'small', '--link', 'booster');
    expect(link.code).toBe(2);
    expect(link.err).toContain('link: received "booster", allowed is "upper" or "fairing"');
  });
});

describe('modes', () => {
  it('holds the five ways of the small demo against each other', async () => {
    const { code, out } = await run('modes', 'small', '--csv');
    expect(code).toBe(0);
    const rows = csvRows(out);
    expect(rows.map((row) => row['id'])).toEqual(['springs', 'pushers', 'settled', 'spin', 'hot']);
    for (const row of rows) expect(Number(row['payload_kg'])).toBeGreaterThan(400);
    expect(rows.find((row) => row['id'] === 'settled')!['settling']).toBe('settled');
  });

  it('says that a study without ways of staging has none', async () => {
    const { code, err } = await plumeline(['modes', 'ondel']);
    expect(code).toBe(2);
    expect(err).toContain('stagingModes: received nothing, allowed is one or more ways of staging');
  });
});
