import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { loadStudy, saveStudy } from '../../../core/contract/load.ts';
import type { Study } from '../../../core/contract/study.ts';
import { csvRows, plumeline, R1 } from './harness.ts';

const folder = mkdtempSync(join(tmpdir(), 'plumeline-goals-'));
afterAll(() => {
  rmSync(folder, { recursive: true });
});

/** Writes a changed study to a file of its own. */
function written(name: string, from: string | URL, change: (study: Study) => void): string {
  const loaded = loadStudy(readFileSync(from, 'utf8'));
  if (!loaded.ok) throw new Error('the study does not load');
  const study = structuredClone(loaded.study);
  change(study);
  const path = join(folder, `${name}.plumeline.json`);
  writeFileSync(path, saveStudy(study));
  return path;
}
const FOUR_PHASE = new URL('../../published/fourPhase/fourPhase.plumeline.json', import.meta.url);

interface LimitJson {
  readonly path: string;
  readonly allowed: number;
  readonly value: number;
  readonly binds: boolean;
  readonly worth_kg: number;
  readonly words: string;
}

describe('payload of a study with limits', () => {
  const path = written('limited', R1, (study) => {
    study.limits = { dynamicPressure_Pa: 31_500, sensedAcceleration_mps2: 90 };
  });

  it('says which limit binds, how much and when, and what easing it gives', async () => {
    const { code, out } = await plumeline(['payload', path]);
    expect(code).toBe(0);
    expect(out).toMatch(/Held back by: dynamic pressure, 31\.5 kPa at \d+ s\./);
    expect(out).toMatch(/What the flight keeps to, for the most payload/);
    expect(out).toMatch(
      /^dynamic pressure\s+31\.5 kPa\s+1:0\d\.\d\s+at most 31\.5 kPa\s+binds; 0\.1 kPa easier gives [\d.]+ kg$/m,
    );
    expect(out).toMatch(/^sensed acceleration\s+[\d.]+ g\s+[\d:.]+\s+at most 9\.18 g\s+kept$/m);
  });

  it('says the same to machines', async () => {
    const { out } = await plumeline(['payload', path, '--json']);
    const json = JSON.parse(out) as { goal: string; payload_kg: number; limits: LimitJson[] };
    expect(json.goal).toBe('mostPayload');
    expect(json.limits.map(({ path: at, binds }) => [at, binds])).toEqual([
      ['limits.dynamicPressure_Pa', true],
      ['limits.sensedAcceleration_mps2', false],
    ]);
    expect(json.limits[0]!.value / 31_500).toBeCloseTo(1, 6);
    expect(json.limits[0]!.worth_kg).toBeGreaterThan(0);
    const rows = csvRows((await plumeline(['payload', path, '--csv'])).out);
    const cell = (quantity: string): number =>
      Number(rows.find((row) => row['quantity'] === quantity)!['value']);
    expect(cell('limits.dynamicPressure_Pa')).toBe(json.limits[0]!.value);
    expect(cell('limits.dynamicPressure_Pa binds')).toBe(1);
    expect(cell('mass at insertion')).toBeGreaterThan(json.payload_kg);
  });

  it('names the limit that cannot be met, and ends with code 3', async () => {
    const hopeless = written('hopeless', R1, (study) => (study.limits = { dynamicPressure_Pa: 4000 }));
    const { code, err, out } = await plumeline(['payload', hopeless, '--json']);
    expect(code).toBe(3);
    expect(err).toContain('The limit cannot be met: dynamic pressure of at most 4.0 kPa');
    expect(JSON.parse(out)).toMatchObject({ status: 'limitCannotBeMet', payload_kg: null, limits: [] });
  });
});

describe('payload of a study with another goal', () => {
  it('answers with the most mass at insertion, at the time found', async () => {
    const path = written('mass', FOUR_PHASE, () => undefined);
    const { code, out } = await plumeline(['payload', path]);
    expect(code).toBe(0);
    expect(out).toMatch(
      /with 4\.16 t of payload, 7\.53 t reach the orbit \(7.529\.7 kg, the most mass at insertion;/,
    );
    expect(out).toMatch(/time of cut-off\s+924\.139\d+ s\s+solved/);
    expect(out).toContain(
      'above 6378.145 km, inclination 28.50°, ascending node 269.80°, argument of perigee 130.50°',
    );
  });

  it('answers with the least propellant', async () => {
    const path = written('propellant', FOUR_PHASE, (study) => (study.goal = 'leastPropellant'));
    const json = JSON.parse((await plumeline(['payload', path, '--json'])).out) as {
      goal: string;
      propellant_kg: number;
    };
    expect(json.goal).toBe('leastPropellant');
    // 9 strap-ons and the first stage dry, and 663.139 s of the second at 24.02857 kg/s.
    expect(json.propellant_kg).toBeCloseTo(9 * 17_010 + 95_550 + 663.1392 * 24.028571, 1);
  });
});
