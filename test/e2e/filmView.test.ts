import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { loadStudy } from '../../core/contract/load.ts';
import { Decoder, filmedStudy, SHORT_FILM, tone } from './filmed.ts';
import { openWindow, settledPayload_kg, type Stage } from './harness.ts';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';

describe('the film in the window', () => {
  const folder = mkdtempSync(join(tmpdir(), 'plumeline-film-'));
  let stage: Stage;
  beforeAll(async () => {
    stage = await openWindow(filmedStudy(folder, SHORT_FILM));
    await settledPayload_kg(stage.page);
    await stage.page.getByRole('button', { name: 'Film', exact: true }).click();
    await stage.page.locator('.preview canvas').waitFor({ timeout: 60_000 });
  });
  afterAll(async () => {
    await stage.close();
    rmSync(folder, { recursive: true });
  });

  const said = (): Promise<string | null> => stage.page.locator('.preview .time').textContent();

  it('shows the picture at film time, and what stands then', async () => {
    const { page } = stage;
    await page.locator('.cue').nth(3).click();
    expect(await said()).toMatch(/^0:0(1\.9|2\.0) of film · 2:30\.\d of the flight · 1\.\d×$/);
    // Some of it is dark: words and lines on paper.
    const dark = await page.locator('.preview canvas').evaluate((canvas: HTMLCanvasElement) => {
      const { data } = canvas.getContext('2d')!.getImageData(0, 0, canvas.width, canvas.height);
      let count = 0;
      for (let i = 0; i < data.length; i += 4) if (data[i]! < 90) count += 1;
      return count / (data.length / 4);
    });
    expect(dark).toBeGreaterThan(0.005);
    expect(dark).toBeLessThan(0.2);
  });

  it('moves, words, adds and removes cues, each taken back by undo', async () => {
    const { page } = stage;
    const cues = page.locator('.cue');
    expect(await cues.count()).toBe(5);
    const box = (await cues.nth(2).boundingBox())!;
    await page.mouse.move(box.x + box.width / 2, box.y + 12);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width / 2 + 60, box.y + 12, { steps: 5 });
    await page.mouse.up();
    const moved = (await cues.nth(2).boundingBox())!;
    expect(Math.abs(moved.x - box.x - 60)).toBeLessThan(3);
    await page.locator('#cue-words').fill('Here it is hardest: {max-q.pressure}.');
    await page.locator('h1').click();
    await page.keyboard.press('Home');
    await page.keyboard.press('Shift+ArrowRight');
    await page.getByRole('button', { name: 'Add at the playhead' }).click();
    await expect.poll(() => cues.count()).toBe(6);
    await page.getByRole('button', { name: 'Remove', exact: true }).click();
    await expect.poll(() => cues.count()).toBe(5);
    for (let i = 0; i < 4; i++) await page.keyboard.press('Control+z');
    await expect.poll(() => page.locator('.title').textContent()).not.toContain('changed');
    expect(await cues.count()).toBe(5);
    // The chosen one is drawn with a thicker line: two pixels.
    expect(Math.abs((await cues.nth(2).boundingBox())!.x - box.x)).toBeLessThan(3);
  });

  it('writes the narration, draws its recording, and ties a cue to a word that is lined up with it', async () => {
    const { page } = stage;
    await page.locator('#say-script').fill('At seventy seconds the air is hardest.');
    await page.locator('#film-sound').setInputFiles({
      ...{ name: 'said.wav', mimeType: 'audio/wav', buffer: tone(2) },
    });
    await page.waitForFunction(() => (document.querySelector('.wave')?.getAttribute('d') ?? '').length > 500);
    await page.locator('.cue').nth(2).click();
    await page.locator('#say-word').selectOption({ label: 'with “seconds”, word 3' });
    const word = page.locator('.word', { hasText: 'seconds' });
    const cue = page.locator('.cue').nth(2);
    const middle = async (): Promise<number> => {
      const box = (await cue.boundingBox())!;
      return box.x + box.width / 2;
    };
    const before = await middle();
    await word.focus();
    for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowRight');
    // Four steps of 0.05 s on a strip that shows the film's length over its width.
    const width = (await page.locator('.wave').locator('..').boundingBox())!.width - 16;
    await expect.poll(async () => Math.abs((await middle()) - before)).toBeGreaterThan((0.15 / 3) * width);
    await page.locator('h1').click();
    for (let i = 0; i < 6; i++) await page.keyboard.press('Control+z');
    await expect.poll(() => page.locator('.title').textContent()).not.toContain('changed');
  });

  it('says which cue does not fit the flight', async () => {
    const { page } = stage;
    await page.locator('.cue').nth(1).click();
    await page.locator('#cue-words').fill('It carries {paylod}.');
    await page.locator('.preview .problems').waitFor();
    expect(await page.locator('.preview .problems').textContent()).toMatch(
      /Cue 2: \{paylod\} is nothing that a caption can name/,
    );
    await page.locator('h1').click();
    await page.keyboard.press('Control+z');
    await page.locator('.preview canvas').waitFor();
  });

  it('records to a file of the home folder', async () => {
    const { page, home } = stage;
    await page.locator('#film-size').selectOption({ index: 0 });
    await page.getByRole('button', { name: 'Record …' }).click();
    await page.locator('dialog').getByRole('button', { name: 'Save' }).click();
    await page.getByText('“filmed.webm” is recorded: 90 pictures').waitFor({ timeout: 60_000 });
    expect(existsSync(join(home, 'filmed.vtt'))).toBe(true);
    const decoder = await Decoder.open();
    try {
      const decoded = await decoder.decode(join(home, 'filmed.webm'));
      expect(decoded).toMatchObject({ frames: 90, width: 1280, height: 720, codec: 'vp9' });
    } finally {
      await decoder.close();
    }
  });

  it('leaves no fault behind, and saves the film with the study', async () => {
    const { page, home, faults } = stage;
    await page.locator('#film-sheet').selectOption('night');
    await page.keyboard.press('Control+s');
    await page.waitForFunction(() => !document.querySelector('.title')!.textContent.includes('changed'));
    const saved = loadStudy(readFileSync(join(home, 'filmed.plumeline.json'), 'utf8'));
    expect(saved.ok && saved.study.film?.sheet).toBe('night');
    expect(faults).toEqual([]);
  });
});

describe('a recording that is broken off in the window', () => {
  const folder = mkdtempSync(join(tmpdir(), 'plumeline-film-'));
  let stage: Stage;
  beforeAll(async () => {
    // Long enough for several stretches, of which one stands before the next is whole.
    stage = await openWindow(filmedStudy(folder, { ...SHORT_FILM, length_s: 9 }));
    await settledPayload_kg(stage.page);
    await stage.page.getByRole('button', { name: 'Film', exact: true }).click();
    await stage.page.locator('.preview canvas').waitFor({ timeout: 60_000 });
  });
  afterAll(async () => {
    await stage.close();
    rmSync(folder, { recursive: true });
  });

  it('is gone on from another time, refused in another size, and can be ended early and kept', async () => {
    const { page, home, faults } = stage;
    const journal = join(home, 'filmed.webm.journal');
    // At twice the lines a stretch of two seconds takes some seconds, and the hand has time to stop it.
    await page.locator('#film-size').selectOption({ index: 1 });
    await page.getByRole('button', { name: 'Record …' }).click();
    await page.locator('dialog').getByRole('button', { name: 'Save' }).click();
    // The first stretch stands once the journal holds more than what it is a recording of.
    await expect
      .poll(() => (existsSync(journal) ? statSync(journal).size : 0), { timeout: 90_000 })
      .toBeGreaterThan(60_000);
    await page.getByRole('button', { name: 'Pause' }).last().click();
    await page.getByText(/of 270 pictures, paused/).waitFor();
    expect(readdirSync(home)).toContain('filmed.webm.part');
    await page.getByRole('button', { name: 'Go on another time' }).click();
    await page
      .getByText(/Broken off after [1-9]\d* of 270 pictures. Record to “filmed.webm” again/)
      .waitFor({ timeout: 60_000 });
    expect(readdirSync(home)).toContain('filmed.webm.journal');
    expect(readdirSync(home)).not.toContain('filmed.webm.part');
    // In another size it would be another film.
    await page.locator('#film-size').selectOption({ index: 0 });
    await page.getByRole('button', { name: 'Record …' }).click();
    await page.locator('dialog').getByRole('button', { name: 'Save' }).click();
    await page.getByText(/was recorded with another size \(1920×1080, now 1280×720\)/).waitFor();
    await page.getByRole('button', { name: 'Begin anew' }).click();
    await page.getByText(/[1-9]\d* of 270 pictures, .* left/).waitFor();
    await page.getByRole('button', { name: 'End here and keep' }).click();
    // Segments that are being made are made to their end, and these may be all.
    await page
      .getByText(/“filmed.webm” (holds \d+ of 270 pictures. It was stopped.|is recorded: 270 pictures)/)
      .waitFor({ timeout: 60_000 });
    expect(faults).toEqual([]);
  }, 300_000);
});
