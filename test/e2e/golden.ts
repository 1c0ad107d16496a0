/** Pictures that a test compares with ones looked at and kept. `PLUMELINE_GOLDEN=write` keeps new ones: look at them. */
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import pixelmatch from 'pixelmatch';
import { PNG } from 'pngjs';

const folder = join(import.meta.dirname, 'golden');

/** Share of pixels (0 to 1) by which a picture differs from the kept one of that name. The new one stands in .cache/golden. */
export function compareWithGolden(name: string, picture: Buffer): number {
  const path = join(folder, `${name}.png`);
  if (process.env['PLUMELINE_GOLDEN'] === 'write') {
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, picture);
    return 0;
  }
  if (!existsSync(path))
    throw new Error(`There is no kept picture "${name}"; PLUMELINE_GOLDEN=write keeps this one.`);
  const kept = PNG.sync.read(readFileSync(path));
  const fresh = PNG.sync.read(picture);
  const out = join(import.meta.dirname, '../../.cache/golden');
  mkdirSync(out, { recursive: true });
  writeFileSync(join(out, `${name}.png`), picture);
  if (kept.width !== fresh.width || kept.height !== fresh.height) return 1;
  const { width, height } = kept;
  const marks = new PNG({ width, height });
  const differing = pixelmatch(kept.data, fresh.data, marks.data, width, height, { threshold: 0.1 });
  if (differing > 0) writeFileSync(join(out, `${name}-differs.png`), PNG.sync.write(marks));
  return differing / (width * height);
}
