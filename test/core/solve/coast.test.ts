import { describe, expect, it } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy, PAYLOAD, startValues, type CompiledStudy } from '../../../core/flight/compile.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { orderedTimes, watchedTanks } from '../../../core/solve/goal.ts';
import { PayloadProblem } from '../../../core/solve/payloadProblem.ts';
import { freeParameters, solvePayload } from '../../../core/solve/payload.ts';
import { event, happening, plannedTime_s, r1 } from '../flight/studies.ts';

const circle = (study: Study): void => {
  study.target = { perigee_m: 300_000, apogee_m: 300_000 };
};
const direct = compileStudy(r1(circle));
const burnout_s = plannedTime_s(direct, 'seco');

/** R1 with its upper stage cut early, a coast, and a second burn along the velocity; all three times are free. */
function coasting(change: (study: Study) => void = () => undefined): Study {
  return r1((study) => {
    circle(study);
    const free = (time_s: number, by_s: number): Study['sequence']['events'][number]['trigger'] => ({
      kind: 'time',
      time_s,
      free: { earliest_s: time_s - by_s, latest_s: time_s + by_s },
    });
    const coast_s = burnout_s - 1 + 2700;
    event(study, 'seco').trigger = free(burnout_s - 1, 60);
    study.sequence.events.push(
      happening('relight', free(coast_s, 900), { kind: 'light', body: 'upper', group: 'main', throttle: 1 }),
      happening(
        'along',
        { kind: 'after', events: ['relight'], delay_s: 0 },
        { kind: 'steer', law: { kind: 'prograde', velocity: 'inertial' } },
      ),
      happening('cutoff', free(coast_s + 1, 900), { kind: 'cut', body: 'upper', keep: 0 }),
    );
    study.sequence.finalCutoff = 'cutoff';
    change(study);
  });
}

describe('times of a cut, a second ignition and a second cut after a coast', () => {
  const compiled = compileStudy(coasting());
  // The ascent to an ellipse up to the circle, in one burn, with a second one half a turn later.
  const ellipse = solvePayload(
    compileStudy(r1((study) => (study.target = { perigee_m: 200_000, apogee_m: 300_000 }))),
  );
  const start = startValues(compiled);
  start.set(ellipse.values);
  start[PAYLOAD]! -= 1000;

  /** Compares flights over held steps, each time moved by a tenth of a second, with the same flown afresh. */
  function compare(study: CompiledStudy, values: Float64Array): void {
    const engine = new FlightEngine(study);
    expect(engine.fly(values), engine.status.message).toBe('flown');
    const base = [...engine.end];
    const between = (a: ArrayLike<number>, b: ArrayLike<number>): number =>
      Math.hypot(...[0, 1, 2].map((i) => a[i]! - b[i]!));
    for (const p of study.timed) {
      const moved = Float64Array.from(values);
      moved[p]! += 0.1;
      const { path } = study.parameters[p]!;
      expect(engine.refly(moved, engine.firstSegmentOf(study.parameters[p]!)), path).toBe(true);
      const fresh = new FlightEngine(study);
      expect(fresh.fly(moved)).toBe('flown');
      const went = between(engine.end, base);
      expect(went, path).toBeGreaterThan(1);
      // Both have the error of the solve's steps at the end of a coast, a few metres.
      expect(between(engine.end, fresh.end), path).toBeLessThan(3 + 1e-4 * went);
    }
  }

  it('move the flight over held steps as flights afresh do', () => {
    compare(compiled, start);
  });

  it('are kept in their order by the solve, and the reserves watched', () => {
    expect(
      orderedTimes(compiled).map((pair) => pair.map((p) => compiled.parameters[p]!.path.split('.')[2])),
    ).toEqual([
      ['seco', 'relight'],
      ['relight', 'cutoff'],
    ]);
    expect(watchedTanks(compiled).map((body) => compiled.bodies[body]!.id)).toEqual(['upper']);
    const problem = new PayloadProblem(new FlightEngine(compiled), freeParameters(compiled), start);
    const rows = new Float64Array(problem.equalityCount + problem.inequalityCount);
    expect(problem.evaluate(problem.variables(), rows)).not.toBeNaN();
    const [spare, coast_s, burn_s] = rows.subarray(problem.equalityCount);
    expect(coast_s).toBeCloseTo(2700, 9);
    expect(burn_s).toBeCloseTo(1, 9);
    // One second less of full flow in the first burn; the second one is over in the middle of a ramp of 1.2 s.
    const flow_kgps = (3 * 1_250_000) / (366 * 9.80665);
    expect(spare! * compiled.parameters[PAYLOAD]!.scale).toBeCloseTo(flow_kgps * (1 - 1 / 2.4), 6);
  });

  it('do so too where something waits for where the vehicle is', () => {
    const waiting = compileStudy(
      coasting((study) => {
        event(study, 'along').trigger = { kind: 'altitude', height_m: 250_000, passing: 'rising' };
      }),
    );
    expect(waiting.waits).toBe(true);
    compare(waiting, start);
  });
});
