import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { mix, SHEETS, type BodyInk } from '../../../src-renderer/film/picture/inks.ts';
import { filmLayout } from '../../../src-renderer/film/picture/layout.ts';
import { COLOUR_SPACE, i420Size, toI420 } from '../../../src-renderer/film/record/video709.ts';

describe("a film's colours", () => {
  const css = readFileSync(join(import.meta.dirname, '../../../src-renderer/app/tokens.css'), 'utf8');
  const [paper = '', night = ''] = css.split(":root[data-sheet='night']");
  it.each([
    ['paper', paper, SHEETS.paper],
    ['night', night, SHEETS.night],
  ] as const)("are the window's, on the %s sheet", (_, text, inks) => {
    const token = (name: string): string | undefined => new RegExp(`--${name}: ([^;]+);`).exec(text)?.[1];
    for (const [name, value] of Object.entries(inks) as [string, string | number | BodyInk][]) {
      if (typeof value === 'object') {
        for (const [part, colour] of Object.entries(value) as [string, string][])
          expect(token(`${name}-${part}`)).toBe(colour);
      } else expect(token(name)).toBe(String(value));
    }
  });
  it('mix as halves in between', () => {
    expect(mix('#000000', '#ff8040', 0)).toBe('#000000');
    expect(mix('#000000', '#ff8040', 1)).toBe('#ff8040');
    expect(mix('#102030', '#304050', 0.5)).toBe('#203040');
  });
});

describe('a layout', () => {
  it.each([
    [1280, 720],
    [1920, 1080],
    [3840, 2160],
    [1440, 1080],
    [1080, 1080],
    [2160, 2160],
    [720, 1280],
    [1080, 1920],
    [2160, 3840],
    [1080, 1350],
  ])('of %d × %d keeps everything in the safe area, and nothing over anything', (width, height) => {
    const l = filmLayout(width, height);
    const boxes = {
      caption: l.caption.box,
      column: l.column,
      plate: l.plate,
      figures: l.figures,
      braid: l.braid.box,
    };
    for (const [name, box] of Object.entries(boxes)) {
      // Title safe of ITU-R BT.1848: 5 % from the edges; this keeps 3.5 % at the sides, where no set has cut for long.
      expect(box.left / l.width, name).toBeGreaterThan(0.035);
      expect((l.width - box.right) / l.width, name).toBeGreaterThan(0.035);
      expect(box.top / l.height, name).toBeGreaterThan(0.04);
      expect(box.bottom / l.height, name).toBeLessThan(0.95);
      expect(box.right - box.left, name).toBeGreaterThan(40);
      expect(box.bottom - box.top, name).toBeGreaterThan(40);
    }
    const list = Object.entries(boxes);
    for (const [i, [p, a]] of list.entries())
      for (const [q, b] of list.slice(i + 1)) {
        const meet = a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
        expect(meet, `${p} and ${q}`).toBe(false);
      }
    expect(l.foot.y + (l.foot.lines - 1) * 1.35 * l.foot.size).toBeLessThan(0.97 * l.height);
    // Type at 1080 lines is never below what the look asks for: 20 px, and 28 on a phone held upright.
    const at1080 = (l.small * l.scale * 1080) / Math.min(width, height);
    expect(at1080).toBeGreaterThanOrEqual(l.shape === 'tall' ? 27.9 : 19.9);
  });
});

describe('BT.709 video', () => {
  /** Rec. ITU-R BT.709-6, items 3.2 to 3.5, in real numbers. */
  function exact([r, g, b]: readonly [number, number, number]): [number, number, number] {
    const y = (0.2126 * r + 0.7152 * g + 0.0722 * b) / 255;
    const cb = (b / 255 - y) / 1.8556;
    const cr = (r / 255 - y) / 1.5748;
    return [16 + 219 * y, 128 + 224 * cb, 128 + 224 * cr];
  }
  it('has the levels of the recommendation, for every colour of a coarse grid', () => {
    const out = new Uint8Array(i420Size(2, 2));
    let worst = 0;
    for (let r = 0; r <= 255; r += 17)
      for (let g = 0; g <= 255; g += 17)
        for (let b = 0; b <= 255; b += 17) {
          const pixel = [r, g, b, 255];
          toI420(Uint8ClampedArray.from([...pixel, ...pixel, ...pixel, ...pixel]), 2, 2, out);
          const [y, cb, cr] = exact([r, g, b]);
          worst = Math.max(worst, Math.abs(out[0]! - y), Math.abs(out[4]! - cb), Math.abs(out[5]! - cr));
        }
    // Rounding to a whole number, and factors of 16 bits: half a step and a hundredth.
    expect(worst).toBeLessThan(0.51);
    expect(COLOUR_SPACE.fullRange).toBe(false);
  });
  it('gives the same for a ground as for each of its pixels', () => {
    // Even blocks of two colours in turn, and blocks that are not even in between.
    const colours = [0x17212c, 0xf3f2ec, 0xcc5a2b, 0xf3f2ec, 0x17212c];
    const width = 2 * colours.length;
    const data = new Uint8ClampedArray(width * 2 * 4);
    const single = new Uint8Array(i420Size(2, 2));
    const whole = new Uint8Array(i420Size(width, 2));
    colours.forEach((colour, k) => {
      const rgb = [colour >> 16, (colour >> 8) & 255, colour & 255, 255];
      for (const row of [0, 1]) for (const x of [2 * k, 2 * k + 1]) data.set(rgb, 4 * (row * width + x));
    });
    data[4 * (width + 5)] = 7;
    toI420(data, width, 2, whole);
    colours.forEach((_, k) => {
      const block = new Uint8ClampedArray(16);
      for (const row of [0, 1])
        block.set(data.subarray(4 * (row * width + 2 * k), 4 * (row * width + 2 * k + 2)), 8 * row);
      toI420(block, 2, 2, single);
      expect([whole[2 * k], whole[2 * k + 1], whole[width + 2 * k], whole[width + 2 * k + 1]]).toEqual([
        ...single.subarray(0, 4),
      ]);
      expect([whole[2 * width + k], whole[2.5 * width + k]]).toEqual([...single.subarray(4)]);
    });
  });
  it('keeps each pixel in its place, and takes the mean of four for its colour', () => {
    const grey = [0, 85, 170, 255, 40, 80, 120, 160].flatMap((v) => [v, v, v, 255]);
    const out = new Uint8Array(i420Size(4, 2));
    toI420(Uint8ClampedArray.from(grey), 4, 2, out);
    const levels = [0, 85, 170, 255, 40, 80, 120, 160].map((v) => Math.round(16 + (219 * v) / 255));
    expect([...out.subarray(0, 8)]).toEqual(levels);
    expect([...out.subarray(8)]).toEqual([128, 128, 128, 128]);
  });
});
