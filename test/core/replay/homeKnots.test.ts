import { describe, expect, it } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { setByPath } from '../../../core/contract/studyNumbers.ts';
import { compileStudy } from '../../../core/flight/compile.ts';
import { readTrack } from '../../../core/replay/flightData.ts';
import { homeKnot, type HomeKnot } from '../../../core/replay/homeKnots.ts';
import { solveHomeward } from '../../../core/replay/homeward.ts';
import { heavyWith } from '../recovery/studies.ts';

/** The knots of the booster's flight down on the sea, and the numbers that set them. */
function fly(study: Study) {
  const { flown, message } = solveHomeward(study, 'downrange', false);
  if (flown === null) throw new Error(message);
  const compiled = compileStudy(study);
  const at = flown.flight.tracks.findIndex(({ home }) => home !== undefined);
  const reader = readTrack(compiled, flown.flight, at);
  const path = flown.flight.tracks[at]!.home!;
  const plan = study.returns!.plans['downrange']!;
  const log = flown.flight.log.filter(({ track }) => track === 'booster');
  return {
    cause: (id: string) => log.find((entry) => entry.id === id)?.cause,
    time_s: (id: string): number => log.find((entry) => entry.id === id)!.time_s,
    knot: (id: string): HomeKnot | null => homeKnot(plan, reader, path, id),
  };
}

/** The same study with a knot put elsewhere, flown again: the time at which it then stands. */
function moved(study: Study, id: string, by_s: number): { asked_s: number; stands_s: number } {
  const before = fly(study);
  const knot = before.knot(id)!;
  const asked_s = before.time_s(id) + by_s;
  const changed = setByPath(study, knot.path, knot.valueAt(asked_s) * knot.perUnit);
  if (!changed.ok) throw new Error(changed.problems[0]!.sentence);
  return { asked_s, stands_s: fly(changed.study).time_s(id) };
}

const engines = [{ group: 'staging' }];
const byEdges = (start: object, end: object): Study =>
  heavyWith('downrange', (plan) => (plan.entry = { engines, throttle: 1, start, end })).study;
const byHeight = (): Study =>
  byEdges({ kind: 'altitude', height_m: 42_000 }, { kind: 'speed', speed_mps: 750 });

describe('knots of a flight home', () => {
  it('are set where the plan has a number for them, and found where the solve has', () => {
    const free = fly(heavyWith('downrange', () => null).study);
    expect(['booster-turn', 'booster-turn-end'].map(free.cause)).toEqual(['set', 'set']);
    expect(['booster-entry', 'booster-entry-end', 'booster-landing'].map(free.cause)).toEqual(
      Array(3).fill('found'),
    );
    for (const id of ['booster-entry', 'booster-landing', 'booster-touchdown', 'meco', 'upper-turn'])
      expect(free.knot(id), id).toBeNull();
    const set = fly(byHeight());
    expect(['booster-entry', 'booster-entry-end'].map(set.cause)).toEqual(['set', 'set']);
    expect(set.knot('booster-entry')).toMatchObject({
      path: 'returns.plans.downrange.entry.start.height_m',
      ...{ unit: 'km', value: 42, perUnit: 1000 },
    });
    // Where it stands its number is what the plan says.
    for (const id of ['booster-turn', 'booster-turn-end', 'booster-entry', 'booster-entry-end']) {
      const knot = set.knot(id)!;
      expect(knot.valueAt(set.time_s(id)) / knot.value, id).toBeCloseTo(1, 5);
    }
  }, 60_000);

  it('stand where they were put, flown again', () => {
    const study = byHeight();
    // Earlier, what comes before each is flown as before; a turn may also come later, through all but empty air.
    for (const [id, by_s] of [
      ['booster-turn', 1.5],
      ['booster-turn-end', 4],
      ['booster-entry', -3],
      ['booster-entry-end', -0.4],
    ] as const) {
      const { asked_s, stands_s } = moved(study, id, by_s);
      expect(Math.abs(stands_s - asked_s), id).toBeLessThan(0.02);
    }
  }, 120_000);

  it('hold for edges by pressure and by heating', () => {
    const study = byEdges({ kind: 'heating', heatFlux_Wpm2: 40_000 }, { kind: 'speed', speed_mps: 750 });
    const { asked_s, stands_s } = moved(study, 'booster-entry', -2);
    expect(Math.abs(stands_s - asked_s)).toBeLessThan(0.02);
    const pressed = byEdges(
      { kind: 'dynamicPressure', pressure_Pa: 4000 },
      { kind: 'speed', speed_mps: 750 },
    );
    const later = moved(pressed, 'booster-entry', -1);
    expect(Math.abs(later.stands_s - later.asked_s)).toBeLessThan(0.02);
  }, 120_000);
});
