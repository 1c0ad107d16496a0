import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compileStudy, type CompiledStudy } from '../../../core/flight/compile.ts';
import { NO_HISTORY, type History } from '../../../core/flight/history.ts';
import { Planning } from '../../../core/flight/plan.ts';
import { PlanError, type FlightPlan } from '../../../core/flight/planTypes.ts';
import { isStateTrigger } from '../../../core/flight/stateTriggers.ts';
import { study } from '../../assets/demos.ts';

const planningOf = ({ study: of, bodies, air }: CompiledStudy): Planning => new Planning(of, bodies, air);

/** The plan, or the sentence that refuses it. */
function made(planning: Planning, history: History, waits: boolean): FlightPlan | string {
  try {
    return planning.make(history, waits);
  } catch (error) {
    if (error instanceof PlanError) return error.message;
    throw error;
  }
}

/** Times at which the flight might have found the events of a demo that only it can find: some of them, in any order. */
function histories(compiled: CompiledStudy): fc.Arbitrary<History> {
  const { events } = compiled.study.sequence;
  const time_s = fc.oneof(
    { weight: 1, arbitrary: fc.constant(Number.NaN) },
    { weight: 3, arbitrary: fc.double({ min: 20, max: 400, noNaN: true }) },
  );
  return fc.tuple(...events.map(() => time_s)).map((times) => ({
    ...NO_HISTORY,
    happened_s: times.map((time, i) => (isStateTrigger(events[i]!.trigger) ? time : Number.NaN)),
  }));
}

describe('a plan made on from the one before', () => {
  it.each(['ringed', 'triple', 'solid'])('is to the bit the one made from the start: %s', (name) => {
    const compiled = compileStudy(study(name));
    fc.assert(
      fc.property(
        fc.array(histories(compiled), { minLength: 2, maxLength: 5 }),
        fc.boolean(),
        (row, waits) => {
          const planning = planningOf(compiled);
          for (const history of row)
            expect(made(planning, history, waits)).toEqual(made(planningOf(compiled), history, waits));
        },
      ),
      { numRuns: 25, seed: 4 },
    );
  });

  it('lays nothing out again when nothing is new, and only what follows when something is', () => {
    const compiled = compileStudy(study('ringed'));
    const { events } = compiled.study.sequence;
    const planning = planningOf(compiled);
    const found = (id: string, time_s: number): History => ({
      ...NO_HISTORY,
      happened_s: events.map((event) => (event.id === id ? time_s : Number.NaN)),
    });
    const first = planning.make(found('bucket', 50), true);
    const whole = planning.laidOut;
    expect(whole).toBeGreaterThanOrEqual(first.segments.length);
    planning.make(found('bucket', 50), true);
    expect(planning.laidOut).toBe(whole);
    const second = planning.make(found('bucket', 51), true);
    const before = first.segments.findIndex(({ end_s }) => end_s >= 50);
    expect(before).toBeGreaterThan(3);
    expect(planning.laidOut - whole).toBe(second.segments.length - before);
    expect(second.segments.slice(0, before)).toEqual(first.segments.slice(0, before));
  });

  it('stops where it was asked to, and goes on from there', () => {
    const compiled = compileStudy(study('heavy'));
    const planning = planningOf(compiled);
    const whole = planning.make(NO_HISTORY, false);
    const other = planningOf(compiled);
    const part = other.make(NO_HISTORY, false, 3);
    expect(part.open).toBe(true);
    expect(part.segments).toEqual(whole.segments.slice(0, part.segments.length));
    expect(other.make(NO_HISTORY, false)).toEqual(whole);
  });

  it('settles leads without laying out what comes before them again', () => {
    // Both cut-offs have leads; each trial of their times goes through the whole flight when it begins at the start, and
    // that was some twenty trials each.
    const compiled = compileStudy(study('heavy'));
    const planning = planningOf(compiled);
    const plan = planning.make(NO_HISTORY, false);
    expect(planning.laidOut).toBeLessThan(3 * plan.segments.length);
  });
});
