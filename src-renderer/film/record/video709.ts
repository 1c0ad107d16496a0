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

/** Writes opaque RGBA as I420 into `out`; chroma is the mean of four pixels. Sides are even. */
export function toI420(rgba: Uint8ClampedArray, width: number, height: number, out: Uint8Array): void {
  const chroma = (width * height) / 4;
  const cbAt = width * height;
  const crAt = cbAt + chroma;
  for (let y = 0; y < height; y += 2) {
    let i = y * width * 4;
    let below = i + width * 4;
    let luma = y * width;
    let c = (y / 2) * (width / 2);
    for (let x = 0; x < width; x += 2) {
      const r0 = rgba[i]!;
      const g0 = rgba[i + 1]!;
      const b0 = rgba[i + 2]!;
      const r1 = rgba[i + 4]!;
      const g1 = rgba[i + 5]!;
      const b1 = rgba[i + 6]!;
      const r2 = rgba[below]!;
      const g2 = rgba[below + 1]!;
      const b2 = rgba[below + 2]!;
      const r3 = rgba[below + 4]!;
      const g3 = rgba[below + 5]!;
      const b3 = rgba[below + 6]!;
      out[luma] = 16 + ((YR * r0 + YG * g0 + YB * b0 + 32768) >> 16);
      out[luma + 1] = 16 + ((YR * r1 + YG * g1 + YB * b1 + 32768) >> 16);
      out[luma + width] = 16 + ((YR * r2 + YG * g2 + YB * b2 + 32768) >> 16);
      out[luma + width + 1] = 16 + ((YR * r3 + YG * g3 + YB * b3 + 32768) >> 16);
      const r = r0 + r1 + r2 + r3;
      const g = g0 + g1 + g2 + g3;
      const b = b0 + b1 + b2 + b3;
      out[cbAt + c] = 128 + ((CB_R * r + CB_G * g + CB_B * b + 131072) >> 18);
      out[crAt + c] = 128 + ((CR_R * r + CR_G * g + CR_B * b + 131072) >> 18);
      i += 8;
      below += 8;
      luma += 2;
      c += 1;
    }
  }
}
