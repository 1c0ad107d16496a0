import { describe, expect, it } from 'vitest';
import { compileStudy, PAYLOAD, startValues, type CompiledStudy } from '../../../core/flight/compile.ts';
import { RECORD_ACCURACY, SOLVE_ACCURACY } from '../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { OrbitTarget } from '../../../core/solve/target.ts';
import type { Study } from '../../../core/contract/study.ts';
import { Worst } from '../earth/worst.ts';
import { event, r1, r1WithGap } from './studies.ts';

const windy = (study: Study): void => {
  study.earth.gravity = 'j2';
  study.earth.figure = 'ellipsoid';
  study.earth.wind = [
    { height_m: 0, eastward_mps: 0.5, northward_mps: -1 },
    { height_m: 9000, eastward_mps: 12, northward_mps: 10 },
    { height_m: 20_000, eastward_mps: 0, northward_mps: 0 },
  ];
  const main = study.vehicle.bodies.booster!.engineGroups.main!;
  main.startUp = { delay_s: 0.2, ramp_s: 1 };
  main.shutDown = { delay_s: 0.1, ramp_s: 0.6 };
  event(study, 'booster-ignition').trigger = { kind: 'time', time_s: -3 };
};
const STUDIES: Record<string, () => Study> = {
  'R1, gap 0 s': () => r1WithGap(0),
  'R1, gap 7 s': () => r1WithGap(7),
  'R1, overlap 3 s': () => r1WithGap(-3),
  'R1 in wind over an oblate Earth, with ramps': () => r1WithGap(2, windy),
};
const compiled = Object.fromEntries(
  Object.entries(STUDIES).map(([name, make]) => [name, compileStudy(make())]),
);
const names = Object.keys(STUDIES);

function flown(study: CompiledStudy): { engine: FlightEngine; values: Float64Array; first: number } {
  const engine = new FlightEngine(study, SOLVE_ACCURACY);
  const values = startValues(study);
  expect(engine.fly(values), engine.status.message).toBe('flown');
  return { engine, values, first: study.plan.segments.findIndex((segment) => !segment.held) };
}

describe('flying the held steps again', () => {
  it.each(names)('with unchanged numbers is the same flight bit for bit: %s', (name) => {
    const { engine, values, first } = flown(compiled[name]!);
    const end = [...engine.end];
    for (let from = first; from < compiled[name]!.plan.segments.length; from++) {
      expect(engine.refly(values, from)).toBe(true);
      expect([...engine.end], `from segment ${from}`).toEqual(end);
    }
  });

  it.each(names)(
    'under a changed law is the same from where the law starts as from the start: %s',
    (name) => {
      const study = compiled[name]!;
      const { engine, values, first } = flown(study);
      study.parameters.forEach((parameter, index) => {
        if (parameter.kind !== 'law') return;
        const shifted = Float64Array.from(values);
        shifted[index]! += 1e-4 * parameter.scale;
        engine.refly(shifted, first);
        const whole = [...engine.end];
        engine.refly(shifted, parameter.firstSegment);
        expect([...engine.end], parameter.path).toEqual(whole);
        expect(parameter.firstSegment).toBeGreaterThan(first);
        // And it did change something.
        engine.refly(values, first);
        expect([...engine.end]).not.toEqual(whole);
      });
    },
  );

  it.each(names)('under changed numbers is the flight that those give: %s', (name) => {
    const study = compiled[name]!;
    const { engine, values } = flown(study);
    const base = [...engine.end];
    study.parameters.forEach((parameter, index) => {
      if (!parameter.free) return;
      const shifted = Float64Array.from(values);
      shifted[index]! += 0.01 * parameter.scale;
      engine.refly(shifted, parameter.firstSegment);
      const fresh = new FlightEngine(study, SOLVE_ACCURACY);
      expect(fresh.fly(shifted)).toBe('flown');
      const apart = Math.hypot(...[0, 1, 2].map((i) => engine.end[i]! - fresh.end[i]!));
      const moved = Math.hypot(...[0, 1, 2].map((i) => base[i]! - fresh.end[i]!));
      // Both have the error of the steps, under a metre; steps and pieces held under numbers a little off, as much again.
      expect(moved, parameter.path).toBeGreaterThan(20);
      expect(apart, parameter.path).toBeLessThan(2 + 1e-3 * moved);
    });
  });

  it('leaves nothing behind: whatever was flown in between, the same numbers give the same end', () => {
    const { engine, values, first } = flown(compiled['R1, overlap 3 s']!);
    const end = [...engine.end];
    const shifted = Float64Array.from(values, (value) => value * 1.001);
    engine.refly(shifted, first);
    engine.refly(values, first);
    expect([...engine.end]).toEqual(end);
    expect(engine.fly(shifted)).toBe('flown');
    expect(engine.fly(values)).toBe('flown');
    expect([...engine.end]).toEqual(end);
  });

  it('has differences that hardly depend on the step', () => {
    // Residuals in units of 10 km and 100 m/s, numbers in units of their scale. The difference at h errs by h/2 of the
    // second derivative, some 10² to 10³, and by rounding, 1e-16 × 640 / h: at h = 1e-6 and 1e-7 that is 1e-3 and 1e-6.
    const held = new Worst('forward differences at h and h/10', 'relative to the largest', 1e-3);
    for (const name of names) {
      const study = compiled[name]!;
      const { engine, values } = flown(study);
      const target = new OrbitTarget(study.study.target);
      const base = new Float64Array(target.count);
      target.residuals(engine.end, base);
      study.parameters.forEach((parameter, index) => {
        if (!parameter.free) return;
        const difference = (h: number): number[] => {
          const shifted = Float64Array.from(values);
          shifted[index] = values[index]! + h * parameter.scale;
          const step = (shifted[index] - values[index]!) / parameter.scale;
          engine.refly(shifted, parameter.firstSegment);
          const out = new Float64Array(target.count);
          target.residuals(engine.end, out);
          return [...out].map((each, k) => (each - base[k]!) / step);
        };
        const coarse = difference(1e-6);
        const fine = difference(1e-7);
        const size = Math.max(...coarse.map(Math.abs));
        expect(size, parameter.path).toBeGreaterThan(1e-3);
        coarse.forEach((each, k) => held.add(`${name}, ${parameter.path}`, (each - fine[k]!) / size));
      });
    }
    held.report();
  });

  it('says when a number is not finite', () => {
    const { engine, values, first } = flown(compiled['R1, gap 0 s']!);
    const broken = Float64Array.from(values);
    broken[PAYLOAD] = Number.NaN;
    expect(engine.refly(broken, first)).toBe(false);
  });
});

describe('a flight', () => {
  const study = compiled['R1, gap 0 s']!;
  const KICK = study.parameters.findIndex((each) => each.path.endsWith('angle_deg'));

  it('may end where a segment begins, with the state that the whole flight has there', () => {
    const { engine, values } = flown(study);
    const upper = study.parameters[KICK + 1]!.firstSegment;
    const there = [...engine.stateAt(upper)];
    expect(engine.fly(values, upper)).toBe('flown');
    expect([...engine.stateAt(upper)]).toEqual(there);
    expect([...engine.end]).toEqual(there);
  });

  it('gives the same end at finer steps, to the coarser one’s error', () => {
    const { engine, values } = flown(study);
    const fine = new FlightEngine(study, RECORD_ACCURACY, true);
    expect(fine.fly(values)).toBe('flown');
    // A relative 1e-9 a step is 6 mm; early errors grow by some hundred on the way to orbit.
    expect(Math.hypot(...[0, 1, 2].map((i) => engine.end[i]! - fine.end[i]!))).toBeLessThan(1);
    expect(Math.hypot(...[3, 4, 5].map((i) => engine.end[i]! - fine.end[i]!))).toBeLessThan(1e-2);
  });

  it('has at its end the mass of the last stage, its reserve and the payload', () => {
    const { engine, values } = flown(study);
    expect(engine.endMass_kg(values)).toBeCloseTo(62_000 + 12_000 + 33_000, 6);
  });

  it('counts flights and reflights', () => {
    const { engine, values, first } = flown(study);
    engine.fly(values);
    engine.refly(values, first);
    expect([engine.flights, engine.reflights]).toEqual([2, 1]);
  });

  it('that turns over too far ends on the ground, and says when', () => {
    const { engine, values } = flown(study);
    values[KICK] = (20 * Math.PI) / 180;
    expect(engine.fly(values)).toBe('impact');
    expect(engine.status.time_s).toBeGreaterThan(17);
    expect(engine.status.time_s).toBeLessThan(148);
    expect(engine.status.message).toMatch(/^The vehicle falls back to the ground at \d+\.\d s\.$/);
  });

  it('too heavy to lift off never starts', () => {
    const { engine, values } = flown(study);
    // 28.6 MN at sea level lift 2920 t: 2130 t and 790 t of payload are just too much.
    const lift = 16 * (1.9e6 - 1.1 * 101_325);
    const g =
      3.986004418e14 / 6378137 ** 2 - 7.292115e-5 ** 2 * 6378137 * Math.cos((16 * Math.PI) / 180) ** 2;
    const limit_kg = lift / g - 2_130_000;
    values[PAYLOAD] = limit_kg + 10;
    expect(engine.fly(values)).toBe('cannotLiftOff');
    expect(engine.status).toMatchObject({ time_s: 0 });
    expect(engine.status.message).toContain('its thrust is less than its weight');
    values[PAYLOAD] = limit_kg - 10;
    // It does lift off, if not for long.
    expect(engine.fly(values)).toBe('impact');
  });

  it('with a number that is none is told apart from both', () => {
    const { engine, values } = flown(study);
    values[PAYLOAD] = Number.NaN;
    expect(engine.fly(values)).toBe('notFinite');
    const other = startValues(study);
    other[KICK + 1] = Number.NaN;
    expect(engine.fly(other)).toBe('notFinite');
    expect(engine.status.time_s).toBeCloseTo(148.5, 0);
    expect(engine.status.message).toMatch(
      /^The flight could not be computed beyond 148\.5 s: a quantity is no longer/,
    );
    // And the engine still flies.
    expect(engine.fly(startValues(study))).toBe('flown');
  });

  it('is the same for a study of the same numbers compiled anew', () => {
    const other = new FlightEngine(compileStudy(r1()), SOLVE_ACCURACY);
    expect(other.fly(startValues(study))).toBe('flown');
    expect([...other.end]).toEqual([...flown(study).engine.end]);
  });
});
