import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { compareWithGolden } from './golden.ts';
import { openWindow, settledPayload_kg, type Stage } from './harness.ts';

const r1 = join(import.meta.dirname, '../published/r1/r1.plumeline.json');

/**
 * Share of pixels that may differ: edges of glyphs and strokes are drawn a shade apart by other builds of the browser. A
 * moved line, a missing strand or a wrong colour is ten times as much.
 */
const MOST = 0.004;

describe('what the window draws', () => {
  let stage: Stage;
  beforeAll(async () => {
    stage = await openWindow(r1);
    const { page } = stage;
    await settledPayload_kg(page);
    const field = page.locator('#gap-field');
    await field.fill('-2');
    await field.press('Enter');
    await page.waitForFunction(
      () => document.querySelector('[data-payload-kg]')?.getAttribute('data-gap') === '-2',
    );
    await settledPayload_kg(page);
    await page.locator('header').click({ position: { x: 600, y: 20 } });
    await page.keyboard.press('Home');
    for (let i = 0; i < 15; i++) await page.keyboard.press('.');
    await page.evaluate(
      () => new Promise((resume) => requestAnimationFrame(() => requestAnimationFrame(resume))),
    );
  });
  afterAll(async () => {
    await stage.close();
  });

  it.each([
    ['the bar', 'svg.band >> nth=1', 'bar'],
    ['the stretched band', 'svg.band >> nth=0', 'stretched'],
    ['the globe', '.pane', 'globe'],
    ['the air column', 'svg[aria-label^="Height of each body"]', 'air-column'],
  ])('draws %s as it was judged', async (_, selector, name) => {
    const picture = await stage.page.locator(selector).screenshot();
    expect(compareWithGolden(name, picture)).toBeLessThan(MOST);
  });

  it('draws the curve as it was judged', async () => {
    const { page } = stage;
    await page.getByRole('button', { name: 'Question' }).click();
    await page.locator('table').waitFor();
    const picture = await page.locator('.left svg').first().screenshot();
    expect(compareWithGolden('curve', picture)).toBeLessThan(MOST);
  });
});
