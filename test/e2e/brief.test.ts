import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import axe from 'axe-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openWindow, type Stage } from './harness.ts';

const LONG_ms = 180_000;
let stage: Stage;
beforeAll(async () => {
  stage = await openWindow(join(import.meta.dirname, '../../assets/demos/heavy.plumeline.json'));
}, 120_000);
afterAll(() => stage.close());

describe('the brief', () => {
  const current = (name: string) => stage.page.locator(`.page.current[data-page="${name}"]`);

  it(
    'leads from the claim to what it rests on, by keys alone',
    async () => {
      const { page } = stage;
      await page.getByRole('button', { name: 'Brief', exact: true }).click();
      await current('question').waitFor({ timeout: 90_000 });
      expect(await current('question').locator('h2').textContent()).toContain('ten percent more');
      await page.keyboard.press('ArrowRight');
      await current('staging').waitFor();
      expect(await current('staging').locator('h2').textContent()).toMatch(/lights 1\.5 s before/);
      await page.keyboard.press('ArrowRight');
      await current('pair').waitFor();
      // Both flights lie on one clock: height and speed of each stand beside its name.
      const speeds = async (): Promise<number[]> =>
        (await current('pair').locator('.figures .value:nth-of-type(2)').allTextContents()).map((text) =>
          Number(text.replace(/[^\d.]/g, '')),
        );
      const before = await speeds();
      await page.keyboard.press('Space');
      await page.waitForFunction(
        (was) =>
          document
            .querySelector('.page.current .figures .value:nth-of-type(2)')
            ?.textContent.replace(/\D/g, '') !== String(was),
        before[0],
      );
      await page.keyboard.press('Space');
      await page.keyboard.press('PageDown');
      await current('cost').locator('circle').first().waitFor({ timeout: 90_000 });
      await page.keyboard.press('ArrowRight');
      await current('why').getByText('In all, for 10 s').waitFor();
      await page.keyboard.press('ArrowRight');
      await current('verdict').getByText('the claim says 10 %').waitFor({ timeout: 120_000 });
      await page.keyboard.press('End');
      await current('basis').waitFor();
      await page.keyboard.press('ArrowRight');
      await current('basis').waitFor();
    },
    LONG_ms,
  );

  it(
    'says of the pair what the claim’s own solves say',
    async () => {
      const carried = stage.page.locator('[data-page="pair"] [data-carried-kg]');
      const [early = Number.NaN, late = Number.NaN] = await carried.evaluateAll((all) =>
        all.map((each) => Number(each.getAttribute('data-carried-kg'))),
      );
      const verdict = (await stage.page.locator('[data-page="verdict"] h2').textContent()) ?? '';
      const band = /\(([\d.]+) to ([\d.]+) %\)/.exec(verdict)!;
      const gain = 100 * (early / late - 1);
      // The gain of the study's own numbers lies in the band that its draws give.
      expect(gain).toBeGreaterThan(Number(band[1]));
      expect(gain).toBeLessThan(Number(band[2]));
    },
    LONG_ms,
  );

  it(
    'passes the accessibility checks',
    async () => {
      const { page } = stage;
      await page.evaluate(axe.source);
      const faults = await page.evaluate(async () => {
        const run = (globalThis as unknown as { axe: { run(): Promise<axe.AxeResults> } }).axe;
        return (await run.run()).violations.map(({ id, nodes }) => `${id}: ${nodes[0]?.html ?? ''}`);
      });
      expect(faults).toEqual([]);
    },
    LONG_ms,
  );

  it(
    'is saved as a page that shows every sheet without the program',
    async () => {
      const { page, home } = stage;
      await page.getByRole('button', { name: 'Save as a page …' }).click();
      await page.locator('dialog input').fill('brief.html');
      await page.locator('dialog button[type="submit"]').click();
      await expect.poll(() => existsSync(join(home, 'brief.html')), { timeout: 20_000 }).toBe(true);
      const html = readFileSync(join(home, 'brief.html'), 'utf8');
      expect(html).not.toMatch(/<script|src="http|url\(["']?(?!data:|#|["'])/);
      expect(html.match(/An estimate for study and explanation/g)!.length).toBeGreaterThan(6);
      expect(html).toMatch(/Study [0-9a-f]{64}/);
      const alone = await page
        .context()
        .browser()!
        .newPage({ viewport: { width: 1280, height: 720 } });
      await alone.setContent(html);
      const sheets = await alone.locator('.page').all();
      expect(sheets).toHaveLength(7);
      for (const sheet of sheets) {
        expect(await sheet.locator('h2').isVisible()).toBe(true);
        const box = (await sheet.boundingBox())!;
        expect([box.width, Math.round(box.height)]).toEqual([1200, 675]);
      }
      await alone.close();
    },
    LONG_ms,
  );

  it('wrote no error on the page’s console in all this', () => {
    expect(stage.faults).toEqual([]);
  });
});
