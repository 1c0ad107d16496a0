import { describe, expect, it } from 'vitest';
import { layOutBraid, type BraidMeasures } from '../../../core/replay/braid.ts';
import { buildKnots } from '../../../core/replay/knots.ts';
import { overlap, placeLabels } from '../../../core/replay/labels.ts';
import { buildStrands, strandAt } from '../../../core/replay/strands.ts';
import { allStudies, flightOf } from './studies.ts';

const measures: BraidMeasures = {
  start_s: 0,
  end_s: 600,
  left_px: 0,
  right_px: 1392,
  top_px: 20,
  bottom_px: 110,
  thickest_px: 34,
  ease_px: 26,
};

// What is drawn is an answer: a vehicle that falls with the numbers of another gap is none.
const flights = allStudies().flatMap(({ name, study }) =>
  [-2, 0, 10]
    .map((gap) => ({ name: `${name}, gap ${gap} s`, ...flightOf(study, gap) }))
    .filter(({ flight }) => flight.orbit !== null),
);

describe.each(flights)('the braid of $name', ({ compiled, flight }) => {
  const set = buildStrands(compiled, flight);
  const knots = buildKnots(compiled, flight, set);
  const span = { ...measures, start_s: set.start_s, end_s: set.end_s };

  it('is as thick as its thrust, and a hairline without', () => {
    const shape = layOutBraid(set, span);
    for (const strand of set.strands) {
      for (const s of strand.spans) {
        const t = 0.5 * (s.start_s + s.end_s);
        const here = shape.at(strand.body, t);
        const thrust = strandAt(strand, t)!.thrust_N;
        if (here === null) continue;
        // From design: thickness = scale × thrust, at least 2 px when lit, two edges of 0.4 px when not.
        const expected = thrust > 0 ? Math.max(2, thrust * shape.scale_pxpN) : 0.8;
        expect(here.width).toBeCloseTo(expected, 9);
      }
    }
    const thickest = Math.max(...set.strands.flatMap((s) => s.spans.map((p) => p.startThrust_N)));
    expect(thickest * shape.scale_pxpN).toBeCloseTo(34, 9);
  });

  it('runs on without a gap in time, from the first command to the end of each body', () => {
    for (const strand of set.strands) {
      for (let i = 1; i < strand.spans.length; i++) {
        expect(strand.spans[i]!.start_s).toBe(strand.spans[i - 1]!.end_s);
      }
      expect(strand.spans[strand.spans.length - 1]!.end_s).toBeCloseTo(strand.end_s, 9);
    }
  });

  it('burns in each strand what the plan says, and never more than is on board', () => {
    for (const strand of set.strands) {
      for (const s of strand.spans) {
        expect(s.startFill).toBeGreaterThanOrEqual(s.endFill - 1e-12);
        expect(s.endFill).toBeGreaterThanOrEqual(-1e-9);
        expect(s.startFill).toBeLessThanOrEqual(1 + 1e-12);
      }
    }
  });

  it('keeps joined bodies back to back and parted ones clear of one another', () => {
    const shape = layOutBraid(set, span);
    const first = set.joinings[0]!.groups[0]!;
    const t = set.start_s + 0.4 * ((set.joinings[1]?.time_s ?? set.end_s) - set.start_s);
    for (let i = 1; i < first.length; i++) {
      const upper = shape.at(first[i - 1]!, t);
      const lower = shape.at(first[i]!, t);
      if (upper === null || lower === null) continue;
      expect(upper.y + upper.width / 2).toBeLessThanOrEqual(lower.y - lower.width / 2 + 1e-9);
    }
    const late = set.end_s - 1e-6;
    const flying = set.strands.flatMap((s) => {
      const at = shape.at(s.body, Math.min(late, s.end_s));
      return at === null ? [] : [{ body: s.body, ...at }];
    });
    for (let i = 1; i < flying.length; i++) expect(flying[i]!.y).toBeGreaterThan(flying[i - 1]!.y);
  });

  it('moves smoothly through a parting: no strand jumps sideways', () => {
    const shape = layOutBraid(set, { ...span, start_s: span.start_s, end_s: span.end_s });
    for (const joining of set.joinings.slice(1)) {
      for (const strand of set.strands) {
        const before = shape.at(strand.body, joining.time_s, true);
        const after = shape.at(strand.body, joining.time_s);
        if (before === null || after === null) continue;
        // The slot may hold the strand by another edge after; a body's middle moves by half of its change in thickness.
        expect(Math.abs(after.y - before.y)).toBeLessThanOrEqual(
          0.5 * Math.abs(after.width - before.width) + 1e-6,
        );
      }
    }
  });

  it('places flags that never overlap one another, their leaders or the numbers, at six zooms', () => {
    const whole = set.end_s - set.start_s;
    const centre = set.joinings[1]?.time_s ?? set.start_s + whole / 2;
    let shown = 0;
    for (const zoom of [1, 4, 16, 64, 256, 2000]) {
      const length = Math.max(0.1, whole / zoom);
      const start_s = Math.min(Math.max(centre - 0.4 * length, set.start_s), set.end_s - length);
      const shape = layOutBraid(set, {
        ...span,
        start_s,
        end_s: start_s + length,
        bottom_px: 130,
        top_px: 56,
      });
      const taken = [{ left: 1100, right: 1392, top: 0, bottom: 190 }];
      const requests = knots
        .filter((k) => k.time_s >= start_s && k.time_s <= start_s + length)
        .map((k, i) => ({
          id: k.id,
          name: k.name,
          note: k.note,
          x: shape.x(k.time_s),
          y: shape.at(k.body, k.time_s)?.y ?? 90,
          side: i % 2 === 0 ? ('above' as const) : ('below' as const),
          rank: k.rank,
        }));
      const labels = placeLabels(requests, {
        left: 0,
        right: 1392,
        aboveBase: 50,
        aboveTop: 0,
        belowBase: 134,
        belowBottom: 190,
        taken,
        level: 17,
        // Widest letters of the type are about 0.62 of its size, so this never flatters.
        measure: (text, strong) => text.length * (strong ? 8.2 : 7.6),
      });
      shown += labels.length;
      labels.forEach((a, i) => {
        expect(a.box.left).toBeGreaterThanOrEqual(0);
        expect(a.box.right).toBeLessThanOrEqual(1392);
        expect(overlap(a.box, taken[0]!)).toBe(false);
        for (const b of labels.slice(i + 1)) {
          expect(overlap(a.box, b.box), `${a.name} and ${b.name} at zoom ${zoom}`).toBe(false);
          for (const [flag, other] of [
            [a, b],
            [b, a],
          ] as const) {
            const leader = {
              left: flag.x - 0.5,
              right: flag.x + 0.5,
              top: Math.min(flag.y, flag.leaderY),
              bottom: Math.max(flag.y, flag.leaderY),
            };
            expect(overlap(leader, other.box), `leader of ${flag.name} through ${other.name}`).toBe(false);
          }
        }
      });
    }
    expect(shown).toBeGreaterThan(6);
  });
});
