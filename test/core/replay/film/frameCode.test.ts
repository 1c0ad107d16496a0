import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CODE_BITS, decodeFrame, encodeFrame } from '../../../../core/replay/film/frameCode.ts';

describe('the frame code', () => {
  it('comes back as it went, to a millisecond', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 2 ** 20 - 1 }),
        fc.double({ min: -600, max: 15_000, noNaN: true }),
        (frame, mission_s) => {
          const back = decodeFrame(encodeFrame(frame, mission_s));
          expect(back?.frame).toBe(frame);
          // Rounded to whole milliseconds.
          expect(Math.abs(back!.mission_s - mission_s)).toBeLessThanOrEqual(0.00051);
        },
      ),
      { seed: 3 },
    );
  });

  it('is refused when one square is wrong', () => {
    for (let wrong = 0; wrong < CODE_BITS; wrong++) {
      const squares = encodeFrame(1234, 151.7);
      squares[wrong] = !squares[wrong];
      expect(decodeFrame(squares)).toBeNull();
    }
    // Two bytes of the frame's number that have changed places: 0x0201 under the check of 0x0102.
    const right = encodeFrame(0x0102, 10);
    const other = encodeFrame(0x0201, 10);
    expect(decodeFrame([...other.slice(0, 46), ...right.slice(46)])).toBeNull();
    expect(() => encodeFrame(-1, 0)).toThrow(/frame -1/);
  });
});
