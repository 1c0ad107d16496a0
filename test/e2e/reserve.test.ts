import { join } from 'node:path';
import axe from 'axe-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openWindow, type Stage } from './harness.ts';

let stage: Stage;
beforeAll(async () => {
  stage = await openWindow(join(import.meta.dirname, '../../assets/demos/heavy.plumeline.json'));
}, 120_000);
afterAll(() => stage.close());

const settled = '[data-payload-kg][data-settled="true"]';

async function payload_kg(): Promise<number> {
  const shown = stage.page.locator(settled);
  await shown.waitFor({ timeout: 60_000 });
  return Number(await shown.getAttribute('data-payload-kg'));
}

async function show(view: string): Promise<void> {
  await stage.page.getByRole('button', { name: view, exact: true }).click();
}

/** What the Return view says of the study's answer: enough, short, taken. */
async function reserve(state: string): Promise<string> {
  const line = stage.page.locator(`[data-reserve="${state}"]`);
  await line.waitFor({ timeout: 60_000 });
  return (await line.textContent()) ?? '';
}

describe('the reserve for a return, in the window', () => {
  let alone_kg = 0;
  let with_kg = 0;

  it('is held against what the return takes, where it is given', async () => {
    alone_kg = await payload_kg();
    await show('Return');
    expect(await reserve('enough')).toContain('The reserve of Booster is held at 88.00 t');
  }, 120_000);

  it('is solved with the ascent once the study chooses such a return, and the view shows that answer', async () => {
    const { page } = stage;
    await page.getByLabel('Plan').selectOption({ label: 'Back to the launch site' });
    await page.getByLabel('part of the study’s answer').check();
    expect(await reserve('taken')).toMatch(/Booster keeps 15\d\.\d\d t .* and a margin of 3\.0 %/);
    await page.getByText(/Back to the launch site: the return takes/).waitFor({ timeout: 60_000 });
    await page.evaluate(axe.source);
    const faults = await page.evaluate(async () => {
      const run = (globalThis as unknown as { axe: { run(): Promise<axe.AxeResults> } }).axe;
      return (await run.run()).violations.map(({ id }) => id);
    });
    expect(faults).toEqual([]);
    await show('Rehearse');
    with_kg = await payload_kg();
    expect(with_kg).toBeLessThan(alone_kg - 5000);
    await page.getByText(/solved with “Back to the launch site”/).waitFor();
    await page
      .getByRole('button', { name: /Boostback/ })
      .first()
      .waitFor();
  }, 180_000);

  it('is the same when the gap was dragged away and back', async () => {
    const { page } = stage;
    const slider = page.getByRole('slider', { name: /gap/i }).first();
    await slider.focus();
    for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowRight');
    await page.waitForFunction(
      ([query, before]) => {
        const shown = document.querySelector(query as string);
        return shown !== null && shown.getAttribute('data-payload-kg') !== before;
      },
      [settled, String(with_kg)],
      { timeout: 60_000 },
    );
    for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowLeft');
    await page.waitForFunction(
      ([query, gap]) => document.querySelector(query as string)?.getAttribute('data-gap') === gap,
      [settled, '-1.5'],
      { timeout: 60_000 },
    );
    // Solved from cold at rest.
    expect(Math.abs((await payload_kg()) - with_kg)).toBeLessThan(0.01);
  }, 180_000);

  it('takes another margin, and is short where what is given is too little', async () => {
    const { page } = stage;
    await show('Return');
    const margin = page.getByLabel('Margin on what the return takes, per cent');
    await margin.fill('6');
    await margin.press('Enter');
    await page.locator('[data-reserve="taken"]', { hasText: 'margin of 6.0 %' }).waitFor({ timeout: 60_000 });
    await page.getByLabel(/t that are given/).check();
    expect(await reserve('short')).toMatch(/The reserve of Booster is too small: 88\.00 t are kept/);
    await show('Rehearse');
    await page.getByText(/Booster is [\d.]+ t short of coming home/).waitFor({ timeout: 60_000 });
    expect(Math.abs((await payload_kg()) - alone_kg)).toBeLessThan(0.01);
    // All changes back, those of the gap among them; more than there were do nothing.
    for (let i = 0; i < 15; i++) await page.keyboard.press('Control+z');
    await show('Return');
    await page.getByLabel('Plan').selectOption({ label: 'Down on the sea' });
    await reserve('enough');
  }, 180_000);

  it('wrote no error on the page’s console in all this', () => {
    expect(stage.faults).toEqual([]);
  });
});
