import { join } from 'node:path';
import axe from 'axe-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openWindow, type Stage } from './harness.ts';

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

  it('solves a plan with the ascent, says what holds it, and shows that flight', async () => {
    const { page } = stage;
    await page.getByRole('button', { name: 'Return', exact: true }).click();
    await page.getByText(/Down on the sea: the return takes/).waitFor({ timeout: 60_000 });
    await page.getByLabel('Plan').selectOption({ label: 'Back to the launch site' });
    await page.getByText(/Back to the launch site: the return takes/).waitFor({ timeout: 60_000 });
    await page.getByText(/One after the other it would be .* kg less/).waitFor();
    await page.getByText(/dynamic pressure in the descent is at its limit/).waitFor();
    await page.getByRole('cell', { name: 'boostback' }).first().waitFor();
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

  it('wrote no error on the page’s console in all this', () => {
    expect(stage.faults).toEqual([]);
  });
});
