import { describe, expect, it } from 'vitest';
import { recordFlight } from '../../../../core/flight/record.ts';
import { resolveCues } from '../../../../core/replay/film/cueTrack.ts';
import { tellStory } from '../../../../core/replay/film/story.ts';
import type { FilmFacts } from '../../../../core/replay/film/words.ts';
import { packFlight } from '../../../../core/replay/flightData.ts';
import { withChosenReturns } from '../../../../core/replay/homeward.ts';
import { compileAnswer, solveAnswer } from '../../../../core/solve/answer.ts';
import { demo } from '../studies.ts';

const heavy = demo('heavy');

describe.each([
  ['downrange', false],
  ['to-site', true],
])('the story of a booster that flies home, %s', (plan, toSite) => {
  const study = { ...heavy, returns: { ...heavy.returns!, chosen: [plan] } };
  const answer = solveAnswer(compileAnswer(study));
  const { outcome } = answer;
  const ascent = packFlight(recordFlight(answer.compiled, outcome.values));
  const { flight, returns } = withChosenReturns(answer, ascent);
  const facts: FilmFacts = {
    ...{ log: flight.log, notes: new Map<string, string>(), payload_kg: outcome.payload_kg, gap_s: 0 },
    ...{ perigee_m: 250_000, apogee_m: 250_000, slope_kgps: -113 },
    compare: { gap_s: 10, payload_kg: 24_000 },
  };
  const film = tellStory(study, flight.log, {
    ...{ length_s: 60, compareGap_s: 10, sweep: true, notes: facts.notes },
    homes: [{ track: 'booster', body: 'booster', name: 'Booster', toSite, close: true }],
  });
  const resolved = resolveCues(film, facts);
  if (!resolved.ok) throw new Error(resolved.problems.join(' '));
  const { track } = resolved;
  const time_s = (id: string): number => flight.log.find((entry) => entry.id === id)!.time_s;
  const cueAt = (id: string, offset_s = 0): number =>
    track.cues.findIndex((cue) => Math.abs(cue.mission_s - time_s(id) - offset_s) < 1e-6);

  it('is told of a return that was solved', () => {
    expect(returns.map(({ outcome: home }) => home?.status)).toEqual(['converged']);
  });

  it('tells each burn at its moment with the figures of the flight, the camera on the booster', () => {
    const burns = toSite ? ['booster-boostback', 'booster-entry'] : ['booster-entry'];
    for (const id of burns) {
      const entry = flight.log.find((each) => each.id === id)!;
      const cue = track.cues[cueAt(id)]!;
      expect(cue.plate).toBe('map');
      expect(cue.view.follow).toEqual([{ body: 'booster', weight: 1 }]);
      expect(cue.pointer).toEqual({ kind: 'knot', event: id });
      const km = (id.endsWith('entry') ? entry.height_m : entry.downrange_m) / 1000;
      // As people read it: whole kilometres from ten on.
      expect(cue.caption).toMatch(new RegExp(`${Math.floor(km)}(\\.\\d)?\\u202F?\\s?km|${Math.ceil(km)}`));
    }
    expect(track.cues.some(({ caption }) => caption.includes('turns round'))).toBe(toSite);
  });

  it('comes to the orbit with the view of the whole flight, and goes back for the landing, which it tells to its end', () => {
    const orbit = cueAt('insertion');
    const view = track.cues[orbit]!.view;
    expect([view.zoom, view.follow]).toEqual([1, []]);
    const landing = cueAt('booster-landing', -2);
    const touchdown = cueAt('booster-touchdown');
    expect(landing).toBeGreaterThan(orbit);
    expect(track.cues[landing]!.arrive).toBe('jump');
    expect(track.cues[landing]!.plate).toBe('landing');
    expect(touchdown).toBe(landing + 1);
    expect(track.cues[touchdown]!.caption).toBe(
      toSite
        ? 'The booster stands where it left the ground.'
        : `The booster is down, 590.3\u202Fkm from the launch site.`,
    );
    // The landing burn is watched at three times its pace at most.
    const { clock, cues } = track;
    const middle = 0.5 * (cues[landing]!.at_s + cues[touchdown]!.at_s);
    expect(clock.paceAt(middle)).toBeLessThan(3);
    // What comes after is told of the orbit again.
    expect(clock.missionAt_s(track.length_s - 1)).toBeCloseTo(time_s('insertion'), 6);
  });
});
