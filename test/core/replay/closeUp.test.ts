import { describe, expect, it } from 'vitest';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { withFailedPushers, withPushedParting } from '../../../core/parting/links.ts';
import { workOutParting } from '../../../core/parting/parting.ts';
import { settlingOf } from '../../../core/parting/settling/staging.ts';
import type { Place } from '../../../core/replay/bodyFrame.ts';
import { closeUpAt, touchAt } from '../../../core/replay/closeUp.ts';
import { settlingSpans } from '../../../core/replay/settlingTold.ts';
import { once, study } from '../../assets/demos.ts';

const made = once((name) => {
  const compiled = compileStudy(withPushedParting(study(name), 'upper'));
  const record = recordFlight(compiled, startValues(compiled));
  const time = (id: string): number =>
    record.plan.eventTimes_s[compiled.study.sequence.events.findIndex((e) => e.id === id)]!;
  const settling = settlingOf(compiled, record, 'upper', time('meco'), time('ignition'));
  return { compiled, record, parting: workOutParting(compiled, record, 'upper'), settling };
});
const area = (of: readonly Place[]): number =>
  0.5 *
  Math.abs(
    of.reduce((sum, [x, y], i) => sum + x * of[(i + 1) % of.length]![1] - y * of[(i + 1) % of.length]![0], 0),
  );
const distance = (a: Place, b: Place): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

describe('the close-up of a parting', () => {
  it('stands joined before release, at true scale', () => {
    const { compiled, record, parting, settling } = made('small');
    const view = closeUpAt(compiled, record, parting, settling, parting.case.release_s - 1);
    expect(view.gap_m).toBeCloseTo(0, 12);
    const booster = view.lower[0]!;
    // Length and diameter of the booster's outline.
    expect(area(booster.outline)).toBeCloseTo(15.2 * 1.62, 9);
    // The top of the booster is the foot of the upper stage.
    expect(Math.max(...booster.outline.map(([s]) => s))).toBeCloseTo(0, 9);
    expect(Math.min(...view.upper[0]!.outline.map(([s]) => s))).toBeCloseTo(0, 9);
    // The fairing sits on top.
    expect(Math.max(...view.upper[1]!.outline.map(([s]) => s))).toBeCloseTo(4.4 + 3.6, 9);
  });

  it('opens by the gap of the parting, and the dimension line is as long', () => {
    const { compiled, record, parting, settling } = made('small');
    const view = closeUpAt(compiled, record, parting, settling, parting.case.release_s + 2);
    expect(view.gap_m).toBeGreaterThan(2);
    expect(distance(...view.dimension)).toBeCloseTo(view.gap_m, 12);
    expect(-Math.max(...view.lower[0]!.outline.map(([s]) => s))).toBeCloseTo(view.gap_m, 2);
  });

  it('moves smoothly from frame to frame at more than seven kilometres a second, six thousand and some from the Earth’s centre', () => {
    // A second stage with the exhaust speed of no engine, so that the third is let go at orbital speed.
    const triple = study('triple');
    const middle = triple.vehicle.bodies['middle']!;
    const main = { ...middle.engineGroups['main']!, ispVacuum_s: 560 };
    const fast = {
      ...triple,
      vehicle: {
        ...triple.vehicle,
        bodies: { ...triple.vehicle.bodies, middle: { ...middle, engineGroups: { main } } },
      },
    };
    const compiled = compileStudy(withPushedParting(fast, 'upper'));
    const record = recordFlight(compiled, startValues(compiled));
    const parting = workOutParting(compiled, record, 'upper');
    const { case: own } = parting;
    const track = record.tracks[own.upperTrack]!;
    const state = new Float64Array(track.steps.dimension);
    track.steps.sample(own.release_s, state);
    expect(Math.hypot(state[3]!, state[4]!, state[5]!)).toBeGreaterThan(7000);
    const places = Array.from(
      { length: 60 },
      (_, i) =>
        closeUpAt(compiled, record, parting, null, own.release_s + 0.2 + 0.01 * i).lower[0]!.outline[0]!,
    );
    // Nothing pushes once the springs are spent: the second differences of a place are nothing. Coordinates from the Earth's
    // centre would tremble by 1e-9 m in double precision and by half a metre in single.
    for (let i = 2; i < places.length; i++) {
      for (const k of [0, 1] as const) {
        const bend = places[i]![k] - 2 * places[i - 1]![k] + places[i - 2]![k];
        expect(Math.abs(bend)).toBeLessThan(1e-5);
      }
    }
  });

  it('moves smoothly from frame to frame while an engine pushes', () => {
    const { compiled, record, parting, settling } = made('heavy');
    const at = (t: number): number =>
      closeUpAt(compiled, record, parting, settling, parting.case.release_s + t).lower[0]!.outline[0]![0];
    // Second differences over a hundredth of a second are the acceleration alone: 9 m/s² · 1e-4 s², no trembling above.
    const places = Array.from({ length: 60 }, (_, i) => at(0.2 + 0.01 * i));
    for (let i = 2; i < places.length; i++) {
      const bend = places[i]! - 2 * places[i - 1]! + places[i - 2]!;
      expect(Math.abs(bend + 9.06e-4)).toBeLessThan(2e-5);
    }
  });

  it('turns bodies whose spring has failed', () => {
    const compiled = compileStudy(withFailedPushers(withPushedParting(study('small'), 'upper'), 'upper', 1));
    const record = recordFlight(compiled, startValues(compiled));
    const parting = workOutParting(compiled, record, 'upper');
    const view = closeUpAt(compiled, record, parting, null, parting.case.release_s + 0.4);
    expect(view.upper[0]!.attitude_rad).toBeLessThan(-0.01);
    expect(view.lower[0]!.attitude_rad).toBeGreaterThan(0);
    expect(view.upper[0]!.tanks[0]!.state).toBeNull();
  });

  it('marks the place where bodies touch: a corner of the engine section on the wall of the interstage', () => {
    const compiled = compileStudy(withFailedPushers(withPushedParting(study('small'), 'upper'), 'upper', 1));
    const record = recordFlight(compiled, startValues(compiled));
    const parting = workOutParting(compiled, record, 'upper');
    const { recontact } = parting.phase;
    const view = closeUpAt(compiled, record, parting, null, parting.case.release_s + recontact!.time_s);
    const place = touchAt(parting)!;
    // One of the section's two lower corners, and on the line of the interstage's wall: in the picture, as drawn.
    const [first, , , last] = view.section!;
    expect(Math.min(distance(place, first!), distance(place, last!))).toBeLessThan(1e-9);
    const [foot, rim, otherRim, otherFoot] = view.well!;
    const fromWall = (a: Place, b: Place): number =>
      Math.abs((b[0] - a[0]) * (place[1] - a[1]) - (b[1] - a[1]) * (place[0] - a[0])) / distance(a, b);
    // The touch is located to the driver's root tolerance.
    expect(Math.min(fromWall(foot!, rim!), fromWall(otherFoot!, otherRim!))).toBeLessThan(1e-6);
    expect(view.pushers.filter(({ state }) => state === 'failed')).toHaveLength(1);
    expect(touchAt(made('small').parting)).toBeNull();
  });

  it('shows gas where engines burn, as much as they push', () => {
    const { compiled, record, parting, settling } = made('heavy');
    const share = (t: number, role: string): number =>
      closeUpAt(compiled, record, parting, settling, t).plumes.find(
        ({ body }) => compiled.bodies[body]!.data.role === role,
      )!.share;
    const { release_s } = parting.case;
    // Four of fourteen booster engines alike burn between partial cut-off and main cut-off, 0.6 s before release.
    expect(share(release_s - 2, 'booster')).toBeCloseTo(4 / 14, 9);
    expect(share(release_s + 1, 'booster')).toBe(0);
    expect(share(release_s - 2.5, 'upper')).toBe(0);
    // All four vacuum engines in full after delay and ramp, 1.6 s after a start 2.1 s before release.
    expect(share(release_s + 1, 'upper')).toBeCloseTo(1, 9);
  });

  it('draws the gap and the drift as lines that meet at the upper plane of separation', () => {
    const { compiled, record, parting, settling } = made('heavy');
    const view = closeUpAt(compiled, record, parting, settling, parting.case.release_s + 2);
    expect(distance(...view.drift)).toBeCloseTo(Math.abs(view.drift_m), 12);
    expect(view.drift[0]).toEqual(view.dimension[1]);
    expect(view.drift[1]).toEqual([0, 0]);
  });

  it('keeps the liquid that it shows displaced', () => {
    const { compiled, record, parting, settling } = made('small');
    const liquid = (t: number): number =>
      closeUpAt(compiled, record, parting, settling, t).upper[0]!.tanks[0]!.liquid.reduce(
        (sum, each) => sum + area(each),
        0,
      );
    const settled = liquid(settling!.from_s);
    const displaced = liquid(settling!.ignition_s);
    const { displaced_m } = settling!.tanks[0]!;
    expect(displaced_m).toBeGreaterThan(0.005);
    // The section across keeps its area.
    expect(displaced / settled).toBeCloseTo(1, 12);
  });

  it('keeps every tank within the outline of its body, with what the study says that it holds', () => {
    const { compiled, record, parting, settling } = made('heavy');
    const view = closeUpAt(compiled, record, parting, settling, parting.case.release_s - 1);
    let narrowed = 0;
    for (const body of [...view.upper, ...view.lower]) {
      const { data } = compiled.bodies[body.body]!;
      const foot = Math.min(...body.outline.map(([s]) => s));
      const radiusAt = (s: number): number =>
        0.5 *
        [data.shape!, ...data.shape!.steps.filter(({ station_m }) => station_m < s - foot - 1e-9)].at(-1)!
          .diameter_m;
      for (const tank of body.tanks) {
        for (const [s, across] of tank.outline) {
          expect(Math.abs(across)).toBeLessThanOrEqual(radiusAt(s));
          expect(s - foot).toBeLessThanOrEqual(data.shape!.length_m);
        }
        // A body of revolution about the axis, ring by ring up one side: π r² Δs.
        const side = tank.outline.slice(0, tank.outline.length / 2);
        const volume_m3 = side
          .slice(1)
          .reduce((sum, [s, r], i) => sum + Math.PI * r * r * (s - side[i]![0]), 0);
        const given = data.tanks![tank.id]!;
        expect(volume_m3 / given.volume_m3!).toBeCloseTo(1, 9);
        narrowed += Number(side.length > 2);
      }
    }
    // The oxygen tank of the booster reaches into its narrower part.
    expect(narrowed).toBe(1);
  });

  it('tells the settling as spans without a hole', () => {
    const { settling } = made('small');
    const spans = settlingSpans(settling!);
    expect(spans[0]!.start_s).toBe(settling!.from_s);
    expect(spans.at(-1)!.end_s).toBeCloseTo(settling!.ignition_s, 5);
    for (let i = 1; i < spans.length; i++) {
      expect(spans[i]!.start_s).toBe(spans[i - 1]!.end_s);
      expect(spans[i]!.state).not.toBe(spans[i - 1]!.state);
    }
    // Thrust until the tail-off is over, then nothing that holds.
    expect(spans[0]!.state).toBe('settled');
    expect(spans.at(-1)!.state).toBe(settling!.state);
  });
});
