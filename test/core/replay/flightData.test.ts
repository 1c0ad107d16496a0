import { describe, expect, it } from 'vitest';
import { readTrack } from '../../../core/replay/flightData.ts';
import { columnHeight, columnTicks, heightAtShare_m, stipple } from '../../../core/replay/airColumn.ts';
import { allStudies, flightOf } from './studies.ts';

describe('a packed flight', () => {
  const { compiled, record, flight } = flightOf(allStudies()[0]!.study, 5);

  it('survives structured cloning and reads the same, bit for bit', () => {
    const copy = structuredClone(flight);
    for (let track = 0; track < flight.tracks.length; track++) {
      const a = readTrack(compiled, flight, track);
      const b = readTrack(compiled, copy, track);
      const { start_s, end_s } = flight.tracks[track]!;
      for (let i = 0; i <= 50; i++) {
        const t = start_s + ((end_s - start_s) * i) / 50;
        expect([...b.at(t).state]).toEqual([...a.at(t).state]);
      }
    }
  });

  it('is continuous across the parting to a millimetre', () => {
    const parting = record.tracks[1]!.start_s;
    const stack = readTrack(compiled, flight, 0);
    const freed = readTrack(compiled, flight, 1);
    const before = [...stack.at(parting, true).state.slice(0, 3)];
    const main = stack.at(parting).state;
    const piece = freed.at(parting).state;
    for (let i = 0; i < 3; i++) {
      expect(Math.abs(main[i]! - before[i]!)).toBeLessThan(1e-3);
      expect(Math.abs(piece[i]! - before[i]!)).toBeLessThan(1e-3);
    }
  });
});

describe('the air column', () => {
  it('inverts its own scale and puts 30 km where the look puts it', () => {
    for (const h of [0, 5500, 31_000, 120_000, 250_000]) {
      expect(heightAtShare_m(columnHeight(h, 250_000), 250_000)).toBeCloseTo(h, 5);
    }
    // u(h) = ln(1 + h/30 km) / ln(1 + 250/30), worked by hand: ln 2 / ln 9.3333.
    expect(columnHeight(30_000, 250_000)).toBeCloseTo(0.693147 / 2.233592, 5);
  });

  it('drops ticks that would lie closer than 12 px', () => {
    for (const height of [120, 240, 400]) {
      const { heights_m } = columnTicks(250_000, height);
      const ys = heights_m.map((h) => columnHeight(h, 250_000) * height);
      for (let i = 1; i < ys.length; i++)
        expect(Math.abs(ys[i]! - ys[i - 1]!)).toBeGreaterThanOrEqual(12 - 1e-9);
      expect(heights_m).toContain(0);
    }
  });

  it('draws the same dots each time, more of them low down', () => {
    const dots = stipple(52, 300, 250_000, 1.75);
    expect(stipple(52, 300, 250_000, 1.75)).toBe(dots);
    const ys = [...dots.matchAll(/M[\d.]+ ([\d.]+)/g)].map((m) => Number(m[1]));
    const low = ys.filter((y) => y > 200).length;
    const high = ys.filter((y) => y < 100).length;
    expect(low).toBeGreaterThan(10 * high);
  });
});
