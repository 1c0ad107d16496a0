import axe from 'axe-core';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { CAUTION } from '../../core/contract/caution.ts';
import { documentHash } from '../../core/contract/contentHash.ts';
import { loadStudy, saveStudy } from '../../core/contract/load.ts';
import { evidenceReport, listChecks } from '../../core/evidence/checks.ts';
import { compileStudy } from '../../core/flight/compile.ts';
import type { ObservedQuantity } from '../../core/study/calibration/observed.ts';
import { Observer } from '../../core/study/calibration/observer.ts';
import { withNumbers } from '../../core/study/numbers.ts';
import { published } from '../published/index.ts';
import { openWindow, settledPayload_kg, type Stage } from './harness.ts';

const r1 = join(import.meta.dirname, '../published/r1/r1.plumeline.json');

async function axeFaults(stage: Stage): Promise<string[]> {
  await stage.page.evaluate(axe.source);
  const { violations } = await stage.page.evaluate(async () => {
    const run = (globalThis as unknown as { axe: { run(): Promise<axe.AxeResults> } }).axe;
    return run.run();
  });
  return violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join(', ')}`);
}

describe('the evidence in the window', () => {
  let stage: Stage;
  beforeAll(async () => {
    stage = await openWindow(r1);
    await settledPayload_kg(stage.page);
    await stage.page.getByRole('button', { name: 'Evidence', exact: true }).click();
  });
  afterAll(async () => {
    await stage.close();
  });

  it('runs the published checks and says how many hold, with the flight drawn against its report', async () => {
    const { page } = stage;
    const here = evidenceReport(listChecks(published).map((check) => check.run()));
    expect(here.fails).toBe(0);
    await page.locator(`[data-holds="${here.holds}"][data-fails="0"]`).waitFor({ timeout: 120_000 });
    const names = page.getByRole('navigation', { name: 'Published checks' }).getByRole('button');
    // All together, then each check.
    expect(await names.count()).toBe(1 + here.outcomes.length);
    for (const name of [
      'Height above the ellipsoid',
      'Range over the ground',
      'Mass',
      'Acceleration felt, and its peaks',
    ])
      await page.getByRole('img', { name: `${name} against time` }).waitFor();
    expect(await axeFaults(stage)).toEqual([]);
  });

  it('scrolls by the keyboard, as a page does', async () => {
    const { page } = stage;
    const body = page.getByRole('region', { name: 'Published numbers beside ours' });
    await body.focus();
    await page.keyboard.press('End');
    await expect.poll(() => body.evaluate((box) => box.scrollTop)).toBeGreaterThan(300);
    await page.keyboard.press('Home');
    await expect.poll(() => body.evaluate((box) => box.scrollTop)).toBe(0);
  });

  it('finds rows by words in all checks', async () => {
    const { page } = stage;
    await page.getByRole('button', { name: 'All together' }).click();
    await page.getByLabel('Find').fill('equator somigliana');
    await expect
      .poll(() => page.locator('tbody .verdict').allTextContents())
      .toEqual(['holds', 'holds', 'holds']);
    await page.getByLabel('Find').fill('');
  });

  it('saves the page with caution and hash of what was published', async () => {
    const { page, home } = stage;
    await page.getByRole('button', { name: 'Save page …' }).click();
    await page.locator('dialog').getByRole('button', { name: 'Save' }).click();
    const file = join(home, 'published-checks.html');
    await expect.poll(() => existsSync(file), { timeout: 15_000 }).toBe(true);
    const text = readFileSync(file, 'utf8');
    expect(text).toContain(CAUTION);
    expect(text).toContain(documentHash(published));
    // With its own typeface: it stands alone.
    expect(text).toContain('data:font/woff2;base64,');
    expect(text).not.toMatch(/<script|src="|href="(?!#)/);
    expect(stage.faults).toEqual([]);
  });
});

describe('a study held against observed points', () => {
  const IMPULSE = 'vehicle.bodies.booster.engineGroups.main.ispVacuum_s';
  const TRUE_s = 336.5;
  const folder = mkdtempSync(join(tmpdir(), 'plumeline-points-'));
  let stage: Stage;
  beforeAll(async () => {
    const loaded = loadStudy(readFileSync(r1, 'utf8'));
    if (!loaded.ok) throw new Error('the reference study does not load');
    const { study } = loaded;
    study.provenance[IMPULSE] = { source: 'invented', spread: { shape: 'normal', low: 335, high: 341 } };
    const own = join(folder, 'own.plumeline.json');
    writeFileSync(own, saveStudy(study));
    stage = await openWindow(own);
    await settledPayload_kg(stage.page);
    // What the flight of the planted value shows, exactly, as somebody would type it off a screen.
    const seen = Observer.fly(compileStudy(withNumbers(study, [{ path: IMPULSE, value: TRUE_s }])));
    if (typeof seen === 'string') throw new Error(seen);
    const at = (quantity: ObservedQuantity, time_s: number): number => {
      const [value] = seen.values([{ quantity, time_s, value: 0, error: 1 }]) as Float64Array;
      return value!;
    };
    const rows = [30, 60, 90, 120, 140].map((t) =>
      [t, at('altitude', t) / 1000, 0.1, 3.6 * at('speed', t), 5].join(', '),
    );
    const head = 'time [s], altitude [km], altitude error [km], speed [km/h], speed error [km/h]';
    writeFileSync(join(stage.home, 'seen.csv'), [head, ...rows].join('\n'));
    writeFileSync(join(stage.home, 'bad.csv'), `${head}\n30, 1.9, 0.1, fast, 5\n`);
    await stage.page.getByRole('button', { name: 'Evidence', exact: true }).click();
    await stage.page.getByRole('button', { name: 'This study against observed points' }).click();
  });
  afterAll(async () => {
    await stage.close();
    rmSync(folder, { recursive: true });
  });

  async function openPoints(name: string): Promise<void> {
    await stage.page.getByRole('button', { name: 'Open points …' }).click();
    await stage.page.locator('dialog').getByRole('button', { name, exact: true }).click();
  }

  it('says line and column of what is wrong with a table', async () => {
    await openPoints('bad.csv');
    await stage.page
      .getByText('“bad.csv”, line 2, column 4 (speed): received "fast", allowed is a number or nothing.')
      .waitFor();
  });

  it('fits an input to the points, takes it into the study, and takes it back by one undo', async () => {
    const { page } = stage;
    await openPoints('seen.csv');
    await page.getByText(/^As the study has it, the flight lies .* from the 10 points\.$/).waitFor();
    await page.getByRole('img', { name: 'Altitude against time' }).waitFor();
    await page.getByRole('checkbox').first().check();
    await page.getByRole('button', { name: 'Fit this number' }).click();
    await page.locator('[data-fit="converged"]').waitFor({ timeout: 60_000 });
    const value = Number(await page.locator('[data-value]').getAttribute('data-value'));
    // The points are exact: what is left is the pull of the stated value, less than its deviation of three seconds.
    expect(Math.abs(value - TRUE_s)).toBeLessThan(0.3);
    expect(await axeFaults(stage)).toEqual([]);
    await page.getByRole('button', { name: 'Study', exact: true }).click();
    await page.getByRole('menuitem', { name: 'Night sheet' }).click();
    await page.locator('[data-sheet="night"]').waitFor();
    expect(await axeFaults(stage)).toEqual([]);
    await page.getByRole('button', { name: 'Take these values' }).click();
    await page.getByText(/^The fitted values stand in the study/).waitFor();
    await page.getByText(/^As the study has it, the flight lies 0\.\d standard errors/).waitFor();
    await page.keyboard.press('Control+s');
    await page.waitForFunction(() => !document.querySelector('.title')!.textContent.includes('changed'));
    const file = join(stage.home, 'own.plumeline.json');
    const saved = loadStudy(readFileSync(file, 'utf8'));
    if (!saved.ok) throw new Error('the saved study does not load');
    expect(saved.study.vehicle.bodies['booster']!.engineGroups['main']!.ispVacuum_s).toBe(value);
    expect(saved.study.provenance[IMPULSE]!.note).toMatch(/^calibrated from 338 to 10 observed points/);
    await page.keyboard.press('Control+z');
    await page.keyboard.press('Control+s');
    await page.waitForFunction(() => !document.querySelector('.title')!.textContent.includes('changed'));
    const back = loadStudy(readFileSync(file, 'utf8'));
    expect(back.ok && back.study.provenance[IMPULSE]).toEqual({
      source: 'invented',
      spread: { shape: 'normal', low: 335, high: 341 },
    });
    expect(stage.faults).toEqual([]);
  });
});
