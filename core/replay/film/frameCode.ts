/**
 * A frame's number and mission time as black and white squares, so that a program can tell from a decoded film which
 * frame it sees. For checks; a film for people has none.
 */

/** Squares: two that say where black and white lie, 20 of the frame, 24 of the time in milliseconds, 8 that check. */
export const CODE_BITS = 54;
/** Added to mission time so that what is before liftoff has a number, ms. */
const OFFSET_ms = 1_000_000;

/** The squares of a frame, white where true. Mission time in s, from −1000 s to 15 777 s. Throws RangeError beyond. */
export function encodeFrame(frame: number, mission_s: number): boolean[] {
  const time = Math.round(mission_s * 1000) + OFFSET_ms;
  if (!Number.isInteger(frame) || frame < 0 || frame >= 2 ** 20 || time < 0 || time >= 2 ** 24) {
    throw new RangeError(
      `encodeFrame: received frame ${frame} at ${mission_s} s, allowed are frames to 2^20 and −1000 s to 15 777 s`,
    );
  }
  return [true, false, ...bits(frame, 20), ...bits(time, 24), ...bits(checkOf(frame, time), 8)];
}

/** Frame and mission time (s, to a millisecond) of squares; null when they are none or do not check. */
export function decodeFrame(squares: readonly boolean[]): { frame: number; mission_s: number } | null {
  if (squares.length !== CODE_BITS || squares[0] !== true || squares[1] !== false) return null;
  const number = (from: number, count: number): number =>
    squares.slice(from, from + count).reduce((sum, bit) => 2 * sum + (bit ? 1 : 0), 0);
  const frame = number(2, 20);
  const time = number(22, 24);
  if (number(46, 8) !== checkOf(frame, time)) return null;
  return { frame, mission_s: (time - OFFSET_ms) / 1000 };
}

function bits(value: number, count: number): boolean[] {
  return Array.from({ length: count }, (_, i) => Math.floor(value / 2 ** (count - 1 - i)) % 2 === 1);
}

/** A sum over bytes, the second weighted so that swapped bytes show; modulo 251, the largest prime of eight bits. */
function checkOf(frame: number, time: number): number {
  const bytes = [frame, frame >> 8, frame >> 16, time, time >> 8, time >> 16].map((v) => v & 255);
  return bytes.reduce((sum, byte, i) => (sum + (i + 1) * byte) % 251, 17);
}
