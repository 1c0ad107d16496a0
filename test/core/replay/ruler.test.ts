import { describe, expect, it } from 'vitest';
import { missionTime, rulerTicks } from '../../../core/replay/ruler.ts';

describe('missionTime', () => {
  it.each([
    [0, false, '0:00'],
    [59.96, true, '1:00.0'],
    [148.505, true, '2:28.5'],
    [-3, false, '\u22120:03'],
    [-0.04, true, '0:00.0'],
    [600, false, '10:00'],
    [3599.6, false, '60:00'],
  ])('writes %d s as people read it', (time_s, tenths, text) => {
    expect(missionTime(time_s, tenths)).toBe(text);
  });
});

describe('rulerTicks', () => {
  it.each([0.1, 1, 20, 600, 5000])('labels a span of %d s without crowding', (span) => {
    const ticks = rulerTicks(3, 3 + span, 1392);
    const labelled = ticks.filter((t) => t.label !== null);
    expect(labelled.length).toBeGreaterThanOrEqual(1);
    for (let i = 1; i < labelled.length; i++) {
      const apart = ((labelled[i]!.time_s - labelled[i - 1]!.time_s) / span) * 1392;
      expect(apart).toBeGreaterThanOrEqual(90 - 1e-6);
    }
    expect(new Set(labelled.map((t) => t.label)).size).toBe(labelled.length);
  });
});
