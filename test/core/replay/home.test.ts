import { describe, expect, it } from 'vitest';
import { compileStudy } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { packFlight, readTrack, type FlightData } from '../../../core/replay/flightData.ts';
import { sampleHome } from '../../../core/replay/home.ts';
import { solveHomeward, withChosenReturns } from '../../../core/replay/homeward.ts';
import { buildKnots } from '../../../core/replay/knots.ts';
import { buildStrands, strandAt } from '../../../core/replay/strands.ts';
import { compileAnswer, solveAnswer } from '../../../core/solve/answer.ts';
import { heavyWith } from '../recovery/studies.ts';
import { allStudies } from './studies.ts';

const flown = (): ReturnType<typeof fly> => (last ??= fly());
let last: ReturnType<typeof fly> | null = null;

function fly() {
  const answer = solveAnswer(compileAnswer(heavyWith('downrange', () => null).study));
  const { compiled } = answer;
  const { values } = answer.outcome;
  const plain = packFlight(recordFlight(compiled, values));
  return { compiled, values, plain, ...withChosenReturns(answer, plain) };
}

/** The track that flies home, and its index. */
function homeOf(flight: FlightData): number {
  return flight.tracks.findIndex((track) => track.home !== undefined);
}

describe('a flight whose booster flies home', () => {
  it('goes on where it parts and ends at rest on the ground', () => {
    const { compiled, plain, flight, returns } = flown();
    expect(returns.map(({ plan, outcome }) => [plan, outcome!.status])).toEqual([['downrange', 'converged']]);
    const at = homeOf(flight);
    expect(flight.tracks[at]!.end).toBe('touchdown');
    expect(flight.tracks[at]!.id).toBe('booster');
    const main = readTrack(compiled, flight, 0);
    const home = readTrack(compiled, flight, at);
    const before = main.at(home.track.start_s, true).state.slice(0, 6);
    const after = home.at(home.track.start_s).state;
    // The same state: continuous to the bit.
    for (let i = 0; i < 6; i++) expect(after[i]).toBe(before[i]);
    const mass_kg = readTrack(compiled, plain, at).at(home.track.start_s).mass_kg;
    expect(home.at(home.track.start_s).mass_kg).toBeCloseTo(mass_kg, 6);
    const down = home.at(home.track.end_s);
    // What a landing may miss by.
    expect(Math.abs(down.height_m)).toBeLessThan(5);
    expect(down.speedRelative_mps).toBeLessThan(1);
    // Without the return it comes down faster than sound.
    const fall = readTrack(compiled, plain, at);
    expect(fall.at(fall.track.end_s).mach).toBeGreaterThan(1);
  }, 60_000);

  it('meets what its review says, read from the stored path alone', () => {
    const { compiled, values, plain, returns } = flown();
    const reply = solveHomeward(compiled.study, 'downrange', false);
    const review = reply.review!;
    // Cloned as on its way from a worker.
    const flight = structuredClone(reply.flown!.flight);
    const at = homeOf(flight);
    const reader = readTrack(compiled, flight, at);
    const curves = sampleHome(reader, flight.tracks[at]!.home!, 4000);
    const most = (of: Float64Array): number => of.reduce((a, b) => Math.max(a, b), 0);
    for (const { kind, value } of review.peaks) {
      const curve = {
        dynamicPressure: 'dynamicPressure_Pa',
        heating: 'heating_Wpm2',
        load: 'load_mps2',
      } as const;
      // Samples lie some tenths of a second apart; a peak of load is the instant before a cut.
      expect(most(curves[curve[kind]]) / value).toBeCloseTo(1, 2);
    }
    expect(returns[0]!.outcome!.used_kg).toBeCloseTo(reply.used_kg, 1);
    const used_kg = reader.at(reader.track.start_s).mass_kg - reader.at(reader.track.end_s).mass_kg;
    // The last tail-off comes after touchdown.
    expect(review.used_kg - used_kg).toBeGreaterThan(0);
    expect(review.used_kg - used_kg).toBeLessThan(400);
    expect(values.length).toBe(reply.flown!.outcome.values.length);
    expect(plain.tracks[at]!.home).toBe(undefined);
  }, 60_000);

  it('steers, read from the stored path, as its motion shows', () => {
    const { compiled, flight } = flown();
    const at = homeOf(flight);
    const reader = readTrack(compiled, flight, at);
    const { segments } = reader.track;
    const path = flight.tracks[at]!.home!;
    const pull = new Float64Array(3);
    const speed = (t: number): number[] => [...reader.at(t).state.slice(3, 6)];
    segments.forEach(({ start_s, end_s }, i) => {
      const h = 1e-3;
      if (end_s - start_s < 10 * h) return;
      for (const share of [0.25, 0.5, 0.75]) {
        const t = start_s + share * (end_s - start_s);
        const [before, after] = [speed(t - h), speed(t + h)];
        const now = reader.at(t);
        compiled.setting.gravity.acceleration(now.state[0]!, now.state[1]!, now.state[2]!, pull);
        // What neither gravity nor thrust explains is drag.
        const rest = [0, 1, 2].map(
          (k) =>
            (after[k]! - before[k]!) / (2 * h) - pull[k]! - (now.thrustNet_N * now.aim[k]!) / now.mass_kg,
        );
        // The interpolant's slope is good to some 1e-3 m/s²; thrust gives 10 to 60 m/s².
        expect(
          Math.abs(Math.hypot(...rest) - Math.abs(now.drag_N) / now.mass_kg),
          path.legs[i]!.phase,
        ).toBeLessThan(0.02);
      }
    });
    const turn = path.legs.findIndex(({ steering }) => steering === 'turn');
    const done = reader.at(segments[turn]!.end_s - 1e-6).aim;
    // A millionth of a second before its end.
    expect(Math.hypot(...[0, 1, 2].map((k) => done[k]! - path.turned[k]!))).toBeLessThan(1e-5);
    const half = reader.at(0.5 * (segments[turn]!.start_s + segments[turn]!.end_s)).aim;
    const away = (other: Float64Array): number =>
      Math.acos([0, 1, 2].reduce((sum, k) => sum + half[k]! * other[k]!, 0));
    expect(away(path.held)).toBeCloseTo(away(path.turned), 6);
  }, 60_000);

  it('has its burns on its strand and in its log', () => {
    const { compiled, flight } = flown();
    const set = buildStrands(compiled, flight);
    const strand = set.strands.find(({ id }) => id === 'booster')!;
    expect(strand.end).toBe('down');
    const names = flight.log.filter(({ track }) => track === 'booster').map(({ name }) => name);
    expect(names).toEqual(
      expect.arrayContaining(['Entry burn', 'Entry burn ends', 'Landing burn', 'Touchdown']),
    );
    expect(names).not.toContain('impact');
    const entry = flight.log.find(({ name }) => name === 'Entry burn')!;
    const ends = flight.log.find(({ name }) => name === 'Entry burn ends')!;
    const middle = strandAt(strand, 0.5 * (entry.time_s + ends.time_s))!;
    expect(middle.engines).toBe(4);
    expect(middle.thrust_N).toBeCloseTo(4 * 1.94e6, 0);
    // Fill falls by what burns.
    expect(strandAt(strand, ends.time_s)!.fill).toBeLessThan(strandAt(strand, entry.time_s)!.fill - 0.03);
    const knots = buildKnots(compiled, flight, set).filter((knot) => knot.name === 'Landing burn');
    expect(knots).toHaveLength(1);
    expect(compiled.bodies[knots[0]!.body]!.id).toBe('booster');
    const times = flight.log.map(({ time_s }) => time_s);
    expect(times).toEqual([...times].sort((p, q) => p - q));
  }, 60_000);

  it('is as it was where no return is chosen', () => {
    const answer = solveAnswer(compileAnswer(allStudies()[0]!.study));
    const plain = packFlight(recordFlight(answer.compiled, answer.outcome.values));
    expect(withChosenReturns(answer, plain).flight).toBe(plain);
  });
});

describe('a return solved for the window', () => {
  it('brings the answer with its reserve, and what one after the other would come to', () => {
    const { compiled } = flown();
    const reply = solveHomeward(compiled.study, 'to-site', true);
    expect(reply.status).toBe('converged');
    const { study, outcome, flight } = reply.flown!;
    expect(study.vehicle.bodies['booster']!.propellant!.returnReserve_kg).toBe(reply.kept_kg);
    expect(outcome.values.length).toBe(compiled.parameters.length);
    expect(reply.apart!.payload_kg).toBeLessThan(reply.payload_kg);
    const at = homeOf(flight);
    const reader = readTrack(compileStudy(study), flight, at);
    expect(reader.at(reader.track.end_s).speedRelative_mps).toBeLessThan(1);
    const hold = reply.holds.find(
      ({ words }) => words === 'dynamic pressure in the descent is at its limit',
    )!;
    // Between the entry burn's end and the landing burn, where the curve touches its limit of 70 kPa.
    expect(reader.at(hold.time_s).dynamicPressure_Pa / 1000).toBeCloseTo(70, 1);
    const [, entry, burn] = reply.review!.burns;
    expect(hold.time_s).toBeGreaterThan(entry!.end_s);
    expect(hold.time_s).toBeLessThan(burn!.start_s);
  }, 60_000);

  it('prices what holds it as solving again with it eased does', () => {
    const alone = (change: Parameters<typeof heavyWith>[1]) =>
      solveHomeward(heavyWith('downrange', change).study, 'downrange', false);
    const plain = alone(() => null);
    const worth = (of: string): number =>
      plain.holds
        .filter(({ words }) => words.startsWith(of))
        .reduce((sum, { worth_kg }) => sum + worth_kg, 0);
    // Half a kilopascal, a two-hundredth of the throttle: the price is the slope, which bends by some per cent over that.
    const eased = alone((plan) => (plan.limits = { dynamicPressure_Pa: 70_500 }));
    expect((plain.used_kg - eased.used_kg) / 0.5 / worth('dynamic pressure')).toBeCloseTo(1, 1);
    const { engines } = plain.flown!.study.returns!.plans['downrange']!.landing;
    const opened = alone((plan) => (plan.landing = { engines, margin: 0.045 }));
    expect((plain.used_kg - opened.used_kg) / 0.5 / worth('landing throttle')).toBeCloseTo(1, 1);
  }, 120_000);

  it('says why there is none', () => {
    const { study } = heavyWith('to-site', (plan) => (plan.reserve = { kind: 'given' }));
    const reply = solveHomeward(study, 'to-site', false);
    expect(reply.status).toBe('notSolved');
    expect(reply.flown).toBe(null);
    expect(reply.message).toContain('88.0 t');
  }, 60_000);
});
