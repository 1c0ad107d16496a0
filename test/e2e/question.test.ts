import axe from 'axe-core';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { PNG } from 'pngjs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openWindow, settledPayload_kg, type Stage } from './harness.ts';

const heavy = join(import.meta.dirname, '../../assets/demos/heavy.plumeline.json');
/** A hundred draws in eleven cases take some twenty seconds on two idle cores, and several times that on busy ones. */
const LONG_ms = 240_000;

async function axeFaults(stage: Stage): Promise<string[]> {
  await stage.page.evaluate(axe.source);
  const { violations } = await stage.page.evaluate(async () => {
    const run = (globalThis as unknown as { axe: { run(): Promise<axe.AxeResults> } }).axe;
    return run.run();
  });
  return violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join(', ')}`);
}

describe('the question of the heavy demo', () => {
  let stage: Stage;
  beforeAll(async () => {
    stage = await openWindow(heavy);
  });
  afterAll(async () => {
    await stage.close();
  });

  const judged = async (verdict: string): Promise<void> => {
    await stage.page.locator(`[data-claim="${verdict}"]`).waitFor({ timeout: LONG_ms });
  };
  const part = async (name: string): Promise<void> => {
    await stage.page.getByRole('navigation', { name: 'What the answer is made of' }).getByText(name).click();
  };
  const save = async (button: string, name: string): Promise<string> => {
    const { page, home } = stage;
    await page.getByRole('button', { name: button }).click();
    await page.locator('dialog input').fill(name);
    await page.locator('dialog button[type="submit"]').click();
    const path = join(home, name);
    await expect.poll(() => existsSync(path), { timeout: 20_000 }).toBe(true);
    return path;
  };

  it(
    'is judged with figure, band, reading both ways and reasoning',
    async () => {
      const { page } = stage;
      await settledPayload_kg(page);
      await page.getByRole('button', { name: 'Question' }).click();
      await judged('dependsOnAssumption');
      expect(await page.locator('.answer').textContent()).toMatch(
        /Not as stated: against 10 s it is \d\.\d % \(\d\.\d to \d\.\d %\)\. 10 % would need a gap of \d+\.\d s \(/,
      );
      const reasoning = page.getByRole('region', { name: "The claim's reasoning" });
      const text = (await reasoning.textContent()) ?? '';
      expect(text).toContain('propellant loads, residuals and reserves; ring mass; target orbit');
      expect(text).toContain('Rule of thumb');
      // Numbers by their names, not by their paths.
      expect(text).toContain('“Upper stage: dry mass”');
      expect(await axeFaults(stage)).toEqual([]);
    },
    LONG_ms,
  );

  it(
    'is judged anew when what is stated is changed in place, which can be taken back',
    async () => {
      const { page } = stage;
      const stated = page.getByLabel('Stated gain in per cent');
      await stated.fill('2');
      await stated.press('Enter');
      await page.locator('.answer', { hasText: '2 % would need' }).waitFor({ timeout: LONG_ms });
      await page.locator('header').click({ position: { x: 600, y: 20 } });
      await page.keyboard.press('Control+z');
      await expect.poll(() => stated.inputValue()).toBe('10');
      await judged('open');
      await page.getByRole('button', { name: 'Judge again' }).click();
      await judged('dependsOnAssumption');
    },
    LONG_ms,
  );

  it(
    'goes on after a reload of the page from the draws that were made before it',
    async () => {
      const { page } = stage;
      await page.reload();
      await settledPayload_kg(page);
      await page.getByRole('button', { name: 'Question' }).click();
      await judged('dependsOnAssumption');
      expect(await page.getByRole('region', { name: "The claim's reasoning" }).textContent()).toContain(
        '128 of them were kept from before',
      );
      await part('How sure');
      const sure = page.getByRole('region', { name: 'How sure the answer is' });
      await sure.getByText('of these draws were kept from before').waitFor({ timeout: LONG_ms });
      expect(await sure.textContent()).toMatch(/The bend is real: the middle lies .* kg above the chord/);
      expect(await sure.textContent()).toContain('28 + 2 solves a draw and gap, 30\u202f720 in all');
      await page.getByRole('button', { name: 'Rehearse' }).click();
      expect(await page.locator('.figure .note').first().textContent()).toMatch(/^\d+\.\d to \d+\.\d$/);
      await page.getByRole('button', { name: 'Question' }).click();
    },
    LONG_ms,
  );

  it(
    'has a rate for each number, checked by solving, and draws the curve against the one that is picked',
    async () => {
      const { page } = stage;
      await part('Exchange rates');
      const table = page.getByRole('region', { name: 'Table of exchange rates' });
      await table.locator('tbody tr').first().waitFor({ timeout: LONG_ms });
      await page.getByLabel('Find').fill('upper dry mass');
      const row = table.locator('tbody tr').first();
      // What the last stage weighs more, the payload weighs less.
      expect(await row.textContent()).toContain('−1\u202f000 / t');
      await row.getByRole('button', { name: 'check Upper stage: dry mass by solving again' }).click();
      await row.getByText('the same').waitFor({ timeout: LONG_ms });
      await row.getByRole('button', { name: 'Upper stage: dry mass', exact: true }).click();
      await page.locator('svg[aria-label^="Payload to orbit against Upper stage: dry mass"]').waitFor({
        timeout: LONG_ms,
      });
      const hand = page.getByLabel('Upper stage: dry mass, by hand');
      await hand.press('End');
      await page.getByText('its spread goes along with it').waitFor();
      expect(await axeFaults(stage)).toEqual([]);
      await page.getByRole('button', { name: 'Solve', exact: true }).waitFor();
      await page.getByLabel('Its new value').fill('2 s');
      await page.getByRole('button', { name: 'Solve', exact: true }).click();
      await page.locator('.result', { hasText: 'makes that even' }).waitFor({ timeout: LONG_ms });
    },
    LONG_ms,
  );

  it(
    'saves a chart as SVG, as PNG at twice its size and as CSV, with caution and hash',
    async () => {
      const { page } = stage;
      await page.getByRole('button', { name: 'the gap', exact: true }).click();
      await part('Where it went');
      const losses = page.locator('svg[aria-label^="Per cent of the payload lost"]');
      await losses.waitFor({ timeout: LONG_ms });
      const [width, height] = [
        Number(await losses.getAttribute('width')),
        Number(await losses.getAttribute('height')),
      ];
      const svg = readFileSync(await save('Save losses as SVG …', 'losses.svg'), 'utf8');
      expect(svg).toContain('An estimate for study and explanation');
      expect(svg).toMatch(/Inputs [0-9a-f]{64}/);
      expect(svg).toContain('@font-face');
      const csv = readFileSync(await save('Save losses as CSV …', 'losses.csv'), 'utf8');
      expect(csv).toContain('# An estimate for study and explanation');
      expect(csv).toMatch(/# inputs [0-9a-f]{64}/);
      const picture = PNG.sync.read(readFileSync(await save('Save losses as PNG …', 'losses.png')));
      // The foot with caution and hash is 34 high.
      expect([picture.width, picture.height]).toEqual([2 * width, 2 * (height + 34)]);
      const inks = new Set<number>();
      for (let i = 0; i < picture.data.length; i += 4) inks.add(picture.data.readUInt32BE(i));
      // Fills, strokes and the soft edges of type: an empty picture has one.
      expect(inks.size).toBeGreaterThan(20);
    },
    LONG_ms,
  );

  it('wrote no error on the page’s console in all this', () => {
    expect(stage.faults).toEqual([]);
  });
});
