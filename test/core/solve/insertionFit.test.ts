import { describe, expect, it } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { RECORD_ACCURACY } from '../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { spaceFixed } from '../../../core/flight/space.ts';
import { fitInsertion } from '../../../core/solve/insertionFit.ts';
import { event, r1 } from '../flight/studies.ts';

/** R1 with a yaw to steer by and a cut at 7.6 km/s. */
const study: Study = r1((s) => {
  s.earth.figure = 'ellipsoid';
  const steer = event(s, 'tangent').action;
  if (steer.kind !== 'steer' || steer.law.kind !== 'linearTangent') throw new Error('no tangent law');
  steer.law = { ...steer.law, kind: 'yawedTangent', yaw_deg: 1, held: [] };
  event(s, 'seco').trigger = { kind: 'speed', speed_mps: 7600, frame: 'inertial', passing: 'rising' };
});
const compiled = compileStudy(study);
const free = compiled.parameters.slice(2).map((parameter) => parameter.path);

describe('a fit to a declared insertion', () => {
  const start = startValues(compiled);
  const declared = { height_m: 195_000, speed_mps: 7600, flightPathAngle_deg: 0.1, heading_deg: 96 };
  const fit = fitInsertion(compiled, free, declared, start);
  const engine = new FlightEngine(compiled, RECORD_ACCURACY);

  it('meets height, flight-path angle and heading', () => {
    expect(fit.status, fit.message).toBe('fitted');
    engine.fly(fit.values);
    const end = spaceFixed(engine.end, engine.endTime_s, study.site);
    // Feasibility 1e-7 of 10 km and of 100 m/s.
    expect(Math.abs(end.height_m - 195_000)).toBeLessThan(1e-3);
    expect(Math.abs(end.flightPathAngle_deg - 0.1)).toBeLessThan(1e-7);
    expect(Math.abs(end.heading_deg - 96)).toBeLessThan(1e-7);
    expect(engine.endTime_s).toBeCloseTo(fit.insertion_s, 9);
  });

  it('is the earliest: another kick that meets the same comes later', () => {
    const kick = compiled.parameters.findIndex((parameter) => parameter.name === 'kick angle');
    const others = free.filter((path) => path !== compiled.parameters[kick]!.path);
    for (const turn of [-0.002, 0.002]) {
      const moved = Float64Array.from(fit.values);
      moved[kick] = moved[kick]! + turn;
      const beside = fitInsertion(compiled, others, declared, moved);
      expect(beside.status, beside.message).toBe('fitted');
      expect(beside.insertion_s).toBeGreaterThan(fit.insertion_s);
    }
  });

  it('comes out the same from elsewhere', () => {
    const elsewhere = Float64Array.from(start);
    elsewhere[2] = start[2]! * 1.1;
    elsewhere[3] = 0.7;
    const again = fitInsertion(compiled, free, declared, elsewhere);
    expect(again.status, again.message).toBe('fitted');
    // At a minimum the time is known far better than where it is.
    expect(Math.abs(again.insertion_s - fit.insertion_s)).toBeLessThan(1e-4);
  });

  it('says which number it cannot use, and what has not converged is not called fitted', () => {
    expect(() => fitInsertion(compiled, ['payload.mass'], declared, start)).toThrow(
      /payload\.mass, allowed is one of/,
    );
    expect(() => fitInsertion(compiled, free.slice(2), declared, start)).toThrow(/received 2 of them/);
    const far = fitInsertion(compiled, free, { ...declared, height_m: 9e6 }, start);
    expect(far.status).toBe('notFitted');
    expect(far.message).toMatch(/\.$/);
  });
});
