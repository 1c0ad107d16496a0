import { join } from 'node:path';
import axe from 'axe-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { compareWithGolden } from './golden.ts';
import { openWindow, type Stage } from './harness.ts';

/** As for the other kept pictures: edges of glyphs and strokes are drawn a shade apart by other builds of the browser. */
const MOST = 0.004;

let stage: Stage;
beforeAll(async () => {
  stage = await openWindow(join(import.meta.dirname, '../../assets/demos/heavy.plumeline.json'));
}, 120_000);
afterAll(() => stage.close());

describe('the way home in the window', () => {
  it('is flown on the booster’s strand, and lands on the map', async () => {
    const { page } = stage;
    await page.locator('[data-payload-kg][data-settled="true"]').waitFor({ timeout: 60_000 });
    await page
      .getByRole('button', { name: /Touchdown/ })
      .first()
      .waitFor();
    expect(await page.getByText('heating', { exact: false }).first().isVisible()).toBe(true);
  }, 120_000);

  it('turns later when the knot of the turn is put later, as a change that can be undone', async () => {
    const { page } = stage;
    const settled = page.locator('[data-payload-kg][data-settled="true"]');
    const turn = page.locator('.events button', { has: page.getByText('Turn', { exact: true }) });
    const before = await turn.textContent();
    await turn.click();
    const field = page.getByLabel(/^Turn: seconds waited/);
    await field.fill('12');
    await field.press('Enter');
    await expect.poll(async () => (await turn.textContent()) !== before, { timeout: 60_000 }).toBe(true);
    await settled.waitFor({ timeout: 60_000 });
    await page.getByRole('button', { name: 'Study', exact: true }).click();
    await page.getByRole('menuitem', { name: /^Undo/ }).click();
    await expect.poll(() => turn.textContent(), { timeout: 60_000 }).toBe(before);
    await settled.waitFor({ timeout: 60_000 });
  }, 180_000);

  it('solves its plans and puts them side by side', async () => {
    const { page } = stage;
    await page.getByRole('button', { name: 'Return', exact: true }).click();
    await page.getByText(/Down on the sea: the return takes/).waitFor({ timeout: 60_000 });
    await page.getByRole('button', { name: /Solve the other plan/ }).click();
    const heads = page.getByRole('columnheader');
    await expect
      .poll(() => heads.allTextContents(), { timeout: 60_000 })
      .toEqual(['Down on the sea', 'Back to the launch site']);
    const cells = await page
      .getByRole('row', { name: /^boostback/ })
      .getByRole('cell')
      .allTextContents();
    expect(cells[0]!.trim()).toBe('–');
    expect(Number.parseFloat(cells[1]!)).toBeGreaterThan(100);
    // The plan that was on show is so again.
    await page.getByText(/Down on the sea: the return takes/).waitFor({ timeout: 60_000 });
  }, 120_000);

  it('solves a plan with the ascent, says what holds it, and shows that flight', async () => {
    const { page } = stage;
    await page.getByLabel('Plan').selectOption({ label: 'Back to the launch site' });
    await page.getByText(/Back to the launch site: the return takes/).waitFor({ timeout: 60_000 });
    await page.getByText(/One after the other it would be .* kg less/).waitFor();
    // When, and what easing it is worth.
    await page
      .getByText(/Dynamic pressure in the descent is at its limit, at \d:\d\d.\d; .* kg more payload/)
      .waitFor();
    await page.getByRole('rowheader', { name: 'boostback' }).first().waitFor();
    await page.getByRole('img', { name: /Stagnation heating/ }).waitFor();
    await page.evaluate(axe.source);
    const faults = await page.evaluate(async () => {
      const run = (globalThis as unknown as { axe: { run(): Promise<axe.AxeResults> } }).axe;
      return (await run.run()).violations.map(({ id }) => id);
    });
    expect(faults).toEqual([]);
    const sentence =
      (await page
        .getByText(/the return takes/)
        .first()
        .textContent()) ?? '';
    const carried_t = /([\d.]+) t of payload/.exec(sentence)![1];
    await page.getByRole('button', { name: 'Show this flight in Rehearse' }).click();
    const shown = page.locator('[data-payload-kg]');
    await shown.waitFor();
    expect((Number(await shown.getAttribute('data-payload-kg')) / 1000).toFixed(2)).toBe(carried_t);
    await page
      .getByRole('button', { name: /Boostback/ })
      .first()
      .waitFor();
  }, 180_000);

  /** Figures beside the picture: to touchdown, phase, height, down, sideways, engines, … */
  const figures = (): Promise<string[]> => stage.page.locator('.beside dd.value').allTextContents();

  it('shows the landing from close by, scrubbed to touchdown', async () => {
    const { page } = stage;
    await page.getByRole('button', { name: 'Return', exact: true }).click();
    const slider = page.getByLabel('Seconds from touchdown');
    await slider.fill('-5');
    // Two of fourteen engines, on the landing burn.
    await expect.poll(figures).toContain('landing burn');
    const braking = await figures();
    expect(braking[5]).toBe('2 of 14');
    expect(Number(braking[2])).toBeGreaterThan(100);
    await slider.fill('0');
    await expect.poll(async () => (await figures()).slice(1, 4)).toEqual(['down', '0.0', '0.0']);
    // The keys of the slider are those of the page's other sliders: one step back is in the air again.
    await slider.press('ArrowLeft');
    await expect.poll(async () => (await figures())[1]).toBe('landing burn');
    await page.getByLabel('Go to a phase').selectOption({ label: 'boostback' });
    await expect.poll(async () => (await figures())[1]).toBe('boostback');
  }, 120_000);

  it('draws the landing as it was judged', async () => {
    const { page } = stage;
    await page.getByLabel('Seconds from touchdown').fill('-1.5');
    await expect.poll(async () => (await figures())[0]).toBe('1.5');
    const canvas = page.getByLabel(/The body over its landing place/);
    expect(compareWithGolden('landing', await canvas.screenshot())).toBeLessThan(MOST);
    const sheet = async (name: string): Promise<void> => {
      await page.getByRole('button', { name: 'Study', exact: true }).click();
      await page.getByRole('menuitem', { name }).click();
    };
    await sheet('Night sheet');
    expect(compareWithGolden('landing-night', await canvas.screenshot())).toBeLessThan(MOST);
    await sheet('Paper sheet');
  }, 120_000);

  it('wrote no error on the page’s console in all this', () => {
    expect(stage.faults).toEqual([]);
  });
});
