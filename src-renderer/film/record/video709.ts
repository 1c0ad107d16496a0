/**
 * Pictures as BT.709 video in the range that editors expect: full RGB to studio-range Y′CbCr 4:2:0 (Rec. ITU-R BT.709-6, items
 * 3.2 to 3.4), so that colours and their tags do not depend on the browser.
 */

/** Luma of R, G, B of 255 in 1/65536, from 0.2126, 0.7152, 0.0722 and 219/255. */
const KR = 0.2126;
const KB = 0.0722;
const KG = 1 - KR - KB;
const Y_SCALE = (219 / 255) * 65536;
const C_SCALE = (224 / 255) * 65536;
const YR = Math.round(KR * Y_SCALE);
const YG = Math.round(KG * Y_SCALE);
const YB = Math.round(KB * Y_SCALE);
const CB_R = Math.round((-0.5 * KR * C_SCALE) / (1 - KB));
const CB_G = Math.round((-0.5 * KG * C_SCALE) / (1 - KB));
const CB_B = -CB_R - CB_G;
const CR_G = Math.round((-0.5 * KG * C_SCALE) / (1 - KR));
const CR_B = Math.round((-0.5 * KB * C_SCALE) / (1 - KR));
const CR_R = -CR_G - CR_B;

export const COLOUR_SPACE = {
  primaries: 'bt709',
  transfer: 'bt709',
  matrix: 'bt709',
  fullRange: false,
} as const satisfies VideoColorSpaceInit;

/** Bytes of a picture with even sides. */
export function i420Size(width: number, height: number): number {
  return (width * height * 3) / 2;
}

/** Bytes of a pixel in memory: red first or blue first, the fourth of no matter. */
export type PixelOrder = 'RGBX' | 'BGRX';

/**
 * Writes opaque pixels as I420 into `out`; chroma is the mean of four pixels. Sides are even. Drawings are mostly ground: as
 * far as pixels stay the same along two rows, they cost a look at them, and their bytes are written all at once.
 */
export function toI420(
  rgba: Uint8Array | Uint8ClampedArray,
  width: number,
  height: number,
  out: Uint8Array,
  order: PixelOrder = 'RGBX',
): void {
  const red = order === 'RGBX' ? 0 : 16;
  const blue = 16 - red;
  const chroma = (width * height) / 4;
  const cbAt = width * height;
  const crAt = cbAt + chroma;
  // Every machine that runs a browser has the lowest byte first.
  const pixels = new Uint32Array(rgba.buffer, rgba.byteOffset, width * height);
  // No pixel yet: a pixel of 32 bits is never negative.
  let ground = -1;
  let groundY = 0;
  let groundCb = 0;
  let groundCr = 0;
  for (let y = 0; y < height; y += 2) {
    let i = y * width;
    let below = i + width;
    let c = (y / 2) * (width / 2);
    for (let x = 0; x < width; x += 2) {
      const p0 = pixels[i]!;
      const p1 = pixels[i + 1]!;
      const p2 = pixels[below]!;
      const p3 = pixels[below + 1]!;
      const even = p0 === p1 && p0 === p2 && p0 === p3;
      if (!even || p0 !== ground) {
        const r0 = (p0 >> red) & 255;
        const g0 = (p0 >> 8) & 255;
        const b0 = (p0 >> blue) & 255;
        const r1 = (p1 >> red) & 255;
        const g1 = (p1 >> 8) & 255;
        const b1 = (p1 >> blue) & 255;
        const r2 = (p2 >> red) & 255;
        const g2 = (p2 >> 8) & 255;
        const b2 = (p2 >> blue) & 255;
        const r3 = (p3 >> red) & 255;
        const g3 = (p3 >> 8) & 255;
        const b3 = (p3 >> blue) & 255;
        const r = r0 + r1 + r2 + r3;
        const g = g0 + g1 + g2 + g3;
        const b = b0 + b1 + b2 + b3;
        const cb = 128 + ((CB_R * r + CB_G * g + CB_B * b + 131072) >> 18);
        const cr = 128 + ((CR_R * r + CR_G * g + CR_B * b + 131072) >> 18);
        const luma = 16 + ((YR * r0 + YG * g0 + YB * b0 + 32768) >> 16);
        out[i] = luma;
        out[i + 1] = 16 + ((YR * r1 + YG * g1 + YB * b1 + 32768) >> 16);
        out[below] = 16 + ((YR * r2 + YG * g2 + YB * b2 + 32768) >> 16);
        out[below + 1] = 16 + ((YR * r3 + YG * g3 + YB * b3 + 32768) >> 16);
        out[cbAt + c] = cb;
        out[crAt + c] = cr;
        if (even) {
          ground = p0;
          groundY = luma;
          groundCb = cb;
          groundCr = cr;
        }
      } else {
        let end = x + 2;
        let k = i + 2;
        let l = below + 2;
        while (
          end < width &&
          pixels[k] === ground &&
          pixels[k + 1] === ground &&
          pixels[l] === ground &&
          pixels[l + 1] === ground
        ) {
          end += 2;
          k += 2;
          l += 2;
        }
        const fours = (end - x) / 2;
        out.fill(groundY, i, k);
        out.fill(groundY, below, l);
        out.fill(groundCb, cbAt + c, cbAt + c + fours);
        out.fill(groundCr, crAt + c, crAt + c + fours);
        x = end - 2;
        i = k - 2;
        below = l - 2;
        c += fours - 1;
      }
      i += 2;
      below += 2;
      c += 1;
    }
  }
}

/**
 * Writes a picture on nothing as two of I420: its colours, and in the luma of `cover` how far each pixel covers what lies
 * below, 0 to 255; its chroma is left as it is. Pixels come with their colour times their cover, as a canvas holds them.
 * What covers nothing takes the colour of its neighbours, so that no edge draws in black.
 */
export function coverToI420(
  pixels: Uint8Array,
  width: number,
  height: number,
  out: Uint8Array,
  cover: Uint8Array,
  order: PixelOrder,
): void {
  const red = order === 'RGBX' ? 0 : 2;
  const blue = 2 - red;
  const chroma = (width * height) / 4;
  const cbAt = width * height;
  const crAt = cbAt + chroma;
  const words = new Uint32Array(pixels.buffer, pixels.byteOffset, width * height);
  const places = [0, 1, width, width + 1];
  for (let y = 0; y < height; y += 2) {
    for (let x = 0; x < width; x += 2) {
      const i = y * width + x;
      const c = (y / 2) * (width / 2) + x / 2;
      if ((words[i]! | words[i + 1]! | words[i + width]! | words[i + width + 1]!) === 0) {
        const below = i + width;
        out[i] = 16;
        out[i + 1] = 16;
        out[below] = 16;
        out[below + 1] = 16;
        cover[i] = 0;
        cover[i + 1] = 0;
        cover[below] = 0;
        cover[below + 1] = 0;
        out[cbAt + c] = 128;
        out[crAt + c] = 128;
        continue;
      }
      let r = 0;
      let g = 0;
      let b = 0;
      let a = 0;
      for (let k = 0; k < 4; k++) {
        const at = 4 * (i + places[k]!);
        r += pixels[at + red]!;
        g += pixels[at + 1]!;
        b += pixels[at + blue]!;
        a += pixels[at + 3]!;
      }
      const meanScale = a === 0 ? 0 : 255 / a;
      const meanR = Math.min(255, r * meanScale);
      const meanG = Math.min(255, g * meanScale);
      const meanB = Math.min(255, b * meanScale);
      for (let k = 0; k < 4; k++) {
        const at = 4 * (i + places[k]!);
        const own = pixels[at + 3]!;
        cover[i + places[k]!] = own;
        const scale = own === 0 ? 0 : 255 / own;
        const ownR = own === 0 ? meanR : Math.min(255, pixels[at + red]! * scale);
        const ownG = own === 0 ? meanG : Math.min(255, pixels[at + 1]! * scale);
        const ownB = own === 0 ? meanB : Math.min(255, pixels[at + blue]! * scale);
        out[i + places[k]!] = 16 + ((YR * ownR + YG * ownG + YB * ownB + 32768) >> 16);
      }
      out[cbAt + c] = 128 + ((CB_R * meanR + CB_G * meanG + CB_B * meanB + 32768) >> 16);
      out[crAt + c] = 128 + ((CR_R * meanR + CR_G * meanG + CR_B * meanB + 32768) >> 16);
    }
  }
}
