import { describe, expect, test } from 'vitest';
import { WindProfile } from '../../../core/earth/wind.ts';

const at = (wind: WindProfile, height: number, piece = wind.pieceAt(height)) => {
  wind.evaluate(height, piece);
  return [wind.eastward_mps, wind.northward_mps];
};

describe('a wind profile', () => {
  const wind = new WindProfile([0, 1000, 5000], [2, 12, -8], [0, 4, 4]);

  test('it goes through its nodes and is linear between them', () => {
    expect(at(wind, 0)).toEqual([2, 0]);
    expect(at(wind, 1000)).toEqual([12, 4]);
    expect(at(wind, 500)).toEqual([7, 2]);
    expect(at(wind, 3000)).toEqual([2, 4]);
  });

  test('it is zero below the lowest and from the highest node', () => {
    expect(at(wind, -0.001)).toEqual([0, 0]);
    expect(at(wind, 5000)).toEqual([0, 0]);
    expect(at(wind, 1e6)).toEqual([0, 0]);
  });

  test('its nodes are its edges, and a held piece carries its line on past them', () => {
    expect([...wind.pieceEdges_m]).toEqual([0, 1000, 5000]);
    expect([-1, 0, 999, 1000, 5000].map((h) => wind.pieceAt(h))).toEqual([0, 1, 1, 2, 3]);
    expect(at(wind, 1200, 1)).toEqual([14, 4.8]);
    expect(at(wind, 5000, 2)).toEqual([-8, 4]);
    expect(at(wind, 800, 2)).toEqual([13, 4]);
  });

  test('without nodes there is no wind', () => {
    const none = new WindProfile([], [], []);
    expect(none.pieceEdges_m.length).toBe(0);
    expect(at(none, 1000)).toEqual([0, 0]);
  });

  test('it keeps its own copy of the table', () => {
    const heights = [0, 10];
    const own = new WindProfile(heights, [1, 1], [0, 0]);
    heights[1] = 20;
    expect(at(own, 15)).toEqual([0, 0]);
  });

  test('a table that is no profile is refused by name', () => {
    expect(() => new WindProfile([0], [1], [1])).toThrow(/heights_m: received 1 node/);
    expect(() => new WindProfile([0, 1], [1], [1, 1])).toThrow(/eastward_mps: received 1 values for 2/);
    expect(() => new WindProfile([0, 1], [1, 1], [1, NaN])).toThrow(/northward_mps\[1\]: received NaN/);
    expect(() => new WindProfile([0, 5, 5], [1, 1, 1], [1, 1, 1])).toThrow(
      /heights_m\[2\]: received 5 after 5/,
    );
  });
});
