import { describe, expect, it } from 'vitest';
import { StepStore } from '../../../core/ode/dense.ts';
import { replaySteps, type Monitor } from '../../../core/ode/driver.ts';
import { DormandPrinceStepper } from '../../../core/ode/stepper.ts';
import { LayeredSystem, makeDriver, monitor, numbers } from './problems.ts';

interface Firing {
  readonly index: number;
  readonly t: number;
}

/** A problem with events and edges drawn at random on the circle y = (sin t, cos t), and what must fire when. */
function drawProblem(seed: number) {
  const next = numbers(seed);
  const draw = (): number => 2 * next() - 1;
  const start = 6 * next();
  const end = start + 20;
  const monitors: Monitor[] = [];
  const expected: Firing[] = [];
  const edges: number[] = [];
  const count = 1 + Math.floor(6 * next());
  for (let index = 0; index < count; index++) {
    // a sin t + b cos t = size cos(t − phase) passes `level` twice a turn, falling at phase + width, rising at −width.
    const size = 0.5 + next();
    const pure = next() < 0.4;
    const phase = pure ? Math.PI / 2 : Math.PI * draw();
    const level = 0.95 * size * draw();
    const width = Math.acos(level / size);
    const direction = ([-1, 0, 1] as const)[Math.floor(3 * next())]!;
    const a = size * Math.sin(phase);
    const b = size * Math.cos(phase);
    monitors.push(monitor(direction, (_t, y) => a * y[0]! + b * y[1]! - level));
    // Some edges lie just where an event does, or nearly.
    if (pure && next() < 0.3) edges.push(level / size);
    if (pure && next() < 0.5) edges.push(level / size + draw() * 10 ** (-4 - 6 * next()));
    for (let turn = -3; turn < 6; turn++) {
      const falling = phase + width + 2 * Math.PI * turn;
      const rising = phase - width + 2 * Math.PI * turn;
      if (direction <= 0 && falling > start && falling < end) expected.push({ index, t: falling });
      if (direction >= 0 && rising > start && rising < end) expected.push({ index, t: rising });
    }
  }
  for (let k = Math.floor(5 * next()); k > 0; k--) edges.push(0.95 * draw());
  edges.sort((p, q) => p - q);
  // Every piece has the same formula: the edges make work for the driver and leave the solution what it is.
  const system = new LayeredSystem(2, edges, (_piece, _t, y, d) => {
    d[0] = y[1]!;
    d[1] = -y[0]!;
  });
  return { system, monitors, start, end, expected: expected.sort((p, q) => p.t - q.t) };
}

describe('events and edges drawn at random', () => {
  for (const tolerance of [1e-4, 1e-9]) {
    it(`fire as the closed form says, each once, and replay to the bit (300 problems, tolerance ${tolerance})`, () => {
      // 20 time units of some ten steps a turn that mostly err alike; at worst a level at 0.95 turns an error into 3.2
      // times as much time.
      const slack = 300 * tolerance;
      for (let seed = 1; seed <= 300; seed++) {
        const { system, monitors, start, end, expected } = drawProblem(seed);
        const driver = makeDriver(2, tolerance);
        const steps = new StepStore(2, false);
        const y = Float64Array.of(Math.sin(start), Math.cos(start));
        driver.start(system, start, y);
        const seen: Firing[] = [];
        let code = driver.advanceTo(system, end, monitors, steps);
        while (code === 'event') {
          seen.push({ index: driver.firedMonitor, t: driver.t });
          code = driver.advanceTo(system, end, monitors, steps);
        }
        expect(code).toBe('reached');
        // What falls within the slack of an end may be on either side of it.
        const inner = (list: readonly Firing[]): Firing[] =>
          list.filter(({ t }) => t > start + slack && t < end - slack);
        for (let index = 0; index < monitors.length; index++) {
          const mine = inner(seen.filter((each) => each.index === index));
          const theirs = inner(expected.filter((each) => each.index === index));
          expect(mine, `seed ${seed}, monitor ${index}`).toHaveLength(theirs.length);
          mine.forEach(({ t }, i) => {
            expect(Math.abs(t - theirs[i]!.t), `seed ${seed}`).toBeLessThan(slack);
          });
        }
        for (let i = 1; i < seen.length; i++) expect(seen[i]!.t).toBeGreaterThanOrEqual(seen[i - 1]!.t);
        replaySteps(system, new DormandPrinceStepper(2), steps, 0, steps.count, y);
        expect([...y], `seed ${seed}`).toEqual([...driver.y]);
      }
    });
  }
});
