import { describe, expect, it, vi } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy } from '../../../core/flight/compile.ts';
import { SOLVE_ACCURACY } from '../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { PlanError } from '../../../core/flight/planTypes.ts';
import { withChosenReturns } from '../../../core/replay/homeward.ts';
import { packFlight, readTrack } from '../../../core/replay/flightData.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { compileAnswer, coupledPlan, solveAnswer, type StudyAnswer } from '../../../core/solve/answer.ts';
import { solveChosenReturns } from '../../../core/solve/chosenReturns.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { getsBy, reserveNote, verdictSentence } from '../../../core/solve/reserveWords.ts';
import { checkByRestarts } from '../../../core/solve/restarts.ts';
import { compileWithReturn, withReserve } from '../../../core/solve/sequenceReturn.ts';
import { solveTogether } from '../../../core/solve/together.ts';
import { OrbitTarget } from '../../../core/solve/target.ts';
import { withGap } from '../../../core/study/gap.ts';
import { study as demo } from '../../assets/demos.ts';

// Ascents with their returns take up to seconds each.
vi.setConfig({ testTimeout: 60_000 });

/** The heavy demo with other returns chosen, and their reserves as they are to be. */
function choosing(chosen: string[], change: (study: Study) => void = () => undefined): Study {
  const study = structuredClone(demo('heavy'));
  study.returns!.chosen = chosen;
  change(study);
  return study;
}

const given = choosing(['downrange']);
const taken = choosing(['to-site']);
const answers = new Map<Study, StudyAnswer>();
function answerOf(study: Study): StudyAnswer {
  const known = answers.get(study);
  if (known !== undefined) return known;
  const answer = solveAnswer(compileAnswer(study));
  answers.set(study, answer);
  return answer;
}

describe('the answer to a study', () => {
  it('is the ascent alone, to the bit, where no chosen return keeps what it takes', () => {
    const alone = solvePayload(compileStudy(given));
    expect(answerOf(given).outcome.payload_kg).toBe(alone.payload_kg);
    expect([...answerOf(given).outcome.values]).toEqual([...alone.values]);
    expect(answerOf(given).coupled).toBeNull();
    // A plan that keeps what it takes counts only where it is chosen.
    expect(coupledPlan(given)).toBeNull();
    expect(given.returns!.plans['to-site']!.reserve.kind).toBe('taken');
  });

  it('is that of ascent and return in one problem, to the bit, where one does', () => {
    const together = solveTogether(compileWithReturn(taken, 'to-site'), 'to-site');
    const { outcome, coupled } = answerOf(taken);
    expect(outcome.status).toBe('converged');
    expect(outcome.payload_kg).toBe(together.payload_kg);
    expect(coupled).toMatchObject({ used_kg: together.used_kg, reserve_kg: together.reserve_kg });
    // The solve's tolerance, some grams.
    expect(coupled!.reserve_kg).toBeCloseTo(1.03 * coupled!.used_kg, 1);
  });

  it('flies, as compiled with what is kept, into the orbit and home', () => {
    const { outcome, compiled, coupled } = answerOf(taken);
    expect(compiled.study.vehicle.bodies['booster']!.propellant!.returnReserve_kg).toBe(coupled!.reserve_kg);
    expect(compiled.keeper).toBe(-1);
    const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
    expect(engine.fly(outcome.values)).toBe('flown');
    const target = new OrbitTarget(compiled.study.target, compiled.earth);
    const residuals = new Float64Array(target.count);
    target.residuals(engine.end, residuals);
    // 3 cm and 0.3 mm/s, in units of 10 km and 100 m/s.
    for (const residual of residuals) expect(Math.abs(residual)).toBeLessThan(4e-6);
    const plain = packFlight(recordFlight(compiled, outcome.values));
    const { flight, returns } = withChosenReturns(answerOf(taken), plain);
    expect(returns.map(({ verdict }) => verdict.state)).toEqual(['taken']);
    const at = flight.tracks.findIndex(({ home }) => home !== undefined);
    const reader = readTrack(compiled, flight, at);
    expect(flight.tracks[at]!.end).toBe('touchdown');
    const used_kg = reader.at(reader.track.start_s).mass_kg - reader.at(reader.track.end_s).mass_kg;
    // The tail-offs before it parts and after it has landed are not in the piece.
    expect(used_kg / coupled!.used_kg).toBeCloseTo(1, 2);
  });

  it('comes back to what it was when the hand drags away and back, and from cold to the same', () => {
    const start = answerOf(taken);
    let memory = start.outcome.memory!;
    for (const gap_s of [-1.3, -1, -0.6, 0.4, -0.8, -1.5]) {
      const dragged = solveAnswer(compileAnswer(withGap(taken, 'ignition', gap_s), start.asked), { memory });
      expect(dragged.outcome.status).toBe('converged');
      ({ memory } = dragged.outcome as { memory: typeof memory });
      const cold = solveAnswer(compileAnswer(withGap(taken, 'ignition', gap_s)));
      expect(cold.outcome.status).toBe('converged');
      // Both stop within the same tolerances, good to some grams each.
      expect(Math.abs(dragged.outcome.payload_kg - cold.outcome.payload_kg)).toBeLessThan(0.05);
    }
    // At rest the hand's answer is solved from cold: the same to the bit, whatever lay between.
    const rest = solveAnswer(compileAnswer(taken, start.asked));
    expect(rest.outcome.payload_kg).toBe(start.outcome.payload_kg);
  });

  it('starts cold from a neighbour of another kind', () => {
    const own = answerOf(taken);
    const other = answerOf(given);
    const crossed = solveAnswer(compileAnswer(taken), { memory: other.outcome.memory! });
    expect(crossed.outcome.payload_kg).toBe(own.outcome.payload_kg);
    const back = solveAnswer(compileAnswer(given, own.asked), { memory: own.outcome.memory! });
    expect(back.outcome.payload_kg).toBe(other.outcome.payload_kg);
  });

  it('is refused where two returns both keep what they take', () => {
    const two = choosing(['to-site', 'downrange'], (study) => {
      study.returns!.plans['downrange']!.reserve = { kind: 'taken', margin: 0 };
    });
    expect(() => compileAnswer(two)).toThrow(PlanError);
    expect(() => compileAnswer(two)).toThrow(
      /returns\.chosen: received "to-site" and "downrange", which both keep what they take/,
    );
  });

  it('says why when there is none, and claims no payload', () => {
    const weak = choosing(['to-site'], (study) => {
      // What is left of their thrust does not hold the empty body up.
      study.returns!.plans['to-site']!.landing = {
        engines: [{ group: 'staging', engines: 1 }],
        margin: 0.5,
      };
    });
    const { outcome, coupled, compiled } = solveAnswer(compileAnswer(weak));
    expect(outcome.status).toBe('notSolved');
    expect(outcome.payload_kg).toBeNaN();
    expect(outcome.memory).toBeNull();
    expect(outcome.message.length).toBeGreaterThan(40);
    expect(coupled).toBeNull();
    expect(compiled.parameters).toHaveLength(outcome.values.length);
  });

  it('has no better one among restarts around it, with or without a return', () => {
    const report = checkByRestarts(answerOf(taken), 4, 1);
    expect(report).toMatchObject({ tried: 4, better: null });
    expect(report.converged).toBeGreaterThan(1);
    expect(report.same).toBe(report.converged);
  });
});

describe('what is kept for a return', () => {
  const verdictOf = (study: Study) => solveChosenReturns(answerOf(study), { worth: true })[0]!.verdict;

  it('is enough where the return takes less, and what is spare has its worth', () => {
    const verdict = verdictOf(given);
    expect(verdict).toMatchObject({ state: 'enough', kind: 'given', kept_kg: 88_000 });
    expect(verdict.spare_kg).toBeCloseTo(88_000 - verdict.takes_kg, 6);
    expect(getsBy(verdict)).toBe(true);
    // An ascent that keeps just so much, solved by itself.
    const less = solvePayload(compileStudy(withReserve(given, 'booster', verdict.takes_kg)));
    expect(verdict.worth_kg).toBeCloseTo(less.payload_kg - answerOf(given).outcome.payload_kg, 1);
    expect(verdict.worth_kg).toBeGreaterThan(0);
    expect(verdictSentence(verdict)).toMatch(
      /^The reserve of Booster is held at 88\.00 t: “Down on the sea” takes [\d.]+ t, and [\d.]+ t are spare, worth .* of payload\.$/,
    );
  });

  it('is short by what is missing, and just that much more is enough', () => {
    const held = choosing(['downrange'], (study) => {
      Object.assign(study, withReserve(study, 'booster', 45_000));
    });
    const verdict = verdictOf(held);
    expect(verdict.state).toBe('short');
    expect(getsBy(verdict)).toBe(false);
    expect(verdict.spare_kg).toBeLessThan(0);
    expect(verdict.worth_kg).toBeLessThan(0);
    expect(verdictSentence(verdict)).toMatch(/^The reserve of Booster is too small: 45\.00 t are kept/);
    // From the same parting, with what it said would do: a heavier body at the same place and speed.
    const { outcome } = solveChosenReturns(answerOf(held))[0]!;
    expect(outcome!.reserve_kg).toBeCloseTo(verdict.takes_kg, 6);
    expect(outcome!.kept_kg).toBe(45_000);
    const plain = packFlight(recordFlight(answerOf(held).compiled, answerOf(held).outcome.values));
    expect(withChosenReturns(answerOf(held), plain).flight).toBe(plain);
  });

  it('is not known to be enough where no return is found, and says why', () => {
    const unable = choosing(['to-site'], (study) => {
      study.returns!.plans['to-site']!.reserve = { kind: 'given' };
      // What is left of their thrust does not hold the empty body up.
      study.returns!.plans['to-site']!.landing = {
        engines: [{ group: 'staging', engines: 1 }],
        margin: 0.5,
      };
    });
    const verdict = verdictOf(unable);
    expect(verdict.state).toBe('unknown');
    expect(verdict.takes_kg).toBeNaN();
    expect(getsBy(verdict)).toBe(false);
    expect(verdictSentence(verdict)).toMatch(
      /^Whether the 88\.00 t that Booster keeps are enough .* is not known: ./,
    );
  });

  it('is, solved with the ascent, what the return takes and the margin, priced', () => {
    const verdict = verdictOf(taken);
    const { coupled } = answerOf(taken);
    expect(verdict).toMatchObject({ state: 'taken', margin: 0.03, takes_kg: coupled!.used_kg });
    // Without the margin, solved again: to first order its worth, and by a few per cent of it more.
    const bare = choosing(['to-site'], (study) => {
      study.returns!.plans['to-site']!.reserve = { kind: 'taken', margin: 0 };
    });
    const gain_kg = answerOf(bare).outcome.payload_kg - answerOf(taken).outcome.payload_kg;
    expect(verdict.worth_kg / gain_kg).toBeCloseTo(1, 1);
  });

  it('is said once of many solves', () => {
    expect(reserveNote(given)).toMatch(
      /^The reserve of Booster is held at 88\.00 t; whether “Down on the sea”/,
    );
    expect(reserveNote(taken)).toBe(
      'Each answer is solved with “Back to the launch site” in the same problem: Booster keeps what it takes and 3.0 % more.',
    );
    expect(reserveNote(choosing([]))).toBeNull();
    expect(reserveNote(demo('small'))).toBeNull();
  });
});
