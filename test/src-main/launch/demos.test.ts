import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { listDemos } from '../../../src-main/launch/demos.mjs';

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'plumeline-demos-'));
  const write = (name: string, study: object): void =>
    writeFileSync(join(folder, name), JSON.stringify(study));
  write('birch.plumeline.json', { title: 'Birch' });
  write('alder.plumeline.json', { title: 'Alder', claims: [] });
  write('cedar.plumeline.json', { title: 'Cedar', claims: [{ id: 'one' }] });
  write('notes.json', { title: 'no study' });
});
afterAll(() => rmSync(folder, { recursive: true }));

it('demos that hold a claim come first, then all by name', async () => {
  expect(await listDemos(folder)).toEqual([
    { id: 'cedar', title: 'Cedar' },
    { id: 'alder', title: 'Alder' },
    { id: 'birch', title: 'Birch' },
  ]);
});

it('a folder that is not there is told', async () => {
  await expect(listDemos(join(folder, 'none'))).rejects.toThrow(/ENOENT/);
});
