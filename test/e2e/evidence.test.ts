import axe from 'axe-core';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { CAUTION } from '../../core/contract/caution.ts';
import { documentHash } from '../../core/contract/contentHash.ts';
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
    await page.locator('[data-holds="395"][data-fails="0"]').waitFor({ timeout: 120_000 });
    const names = page.getByRole('navigation', { name: 'Published checks' }).getByRole('button');
    expect(await names.count()).toBe(16);
    for (const name of ['Height above the ellipsoid', 'Range over the ground', 'Mass'])
      await page.getByRole('img', { name: `${name} against time` }).waitFor();
    expect(await axeFaults(stage)).toEqual([]);
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
