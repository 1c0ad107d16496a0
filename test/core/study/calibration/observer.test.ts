import { describe, expect, it } from 'vitest';
import { G0_mps2 } from '../../../../core/constants/physical.ts';
import { compileStudy } from '../../../../core/flight/compile.ts';
import { observeFlight, Observer } from '../../../../core/study/calibration/observer.ts';
import type { ObservedPoint } from '../../../../core/study/calibration/observed.ts';
import { event, sounding } from '../../flight/studies.ts';

/** Straight up in vacuum for 20 s: thrust 300 kN and specific impulse 300 s are the fixture's. */
const study = sounding({ kind: 'vertical' }, (s) => {
  event(s, 'off').trigger = { kind: 'time', time_s: 20 };
});
const point = (time_s: number, value: number): ObservedPoint => ({
  quantity: 'acceleration',
  time_s,
  value,
  error: 0.1,
});

describe('a flight under observed points', () => {
  const compiled = compileStudy(study);
  const body = study.vehicle.bodies['body']!;
  const group = body.engineGroups['main']!;
  const flow_kgps = group.thrustVacuum_N / (group.ispVacuum_s * G0_mps2);

  it('is felt as thrust over mass, with the propellant that has gone', () => {
    const observer = Observer.fly(compiled);
    if (typeof observer === 'string') throw new Error(observer);
    const [early, late] = observer.values([point(5, 0), point(15, 0)]) as Float64Array;
    // F/a is the mass; ten seconds of full flow lie between. Closed form, so to rounding and the integrator's tolerance.
    const gone = group.thrustVacuum_N / early! - group.thrustVacuum_N / late!;
    expect(gone / (10 * flow_kgps)).toBeCloseTo(1, 6);
  });

  it('counts chi-square over the points, and draws its curves through what it computes there', () => {
    const flight = observeFlight(study, [point(5, 0), point(15, 0)]);
    if (!flight.ok) throw new Error(flight.message);
    const [early, late] = flight.computed;
    expect(flight.chiSquare).toBeCloseTo((early! / 0.1) ** 2 + (late! / 0.1) ** 2, 6);
    const [curve] = flight.curves;
    expect(curve!.time_s.at(-1)).toBeCloseTo(1.05 * 15, 9);
    const after = curve!.time_s.findIndex((t) => t >= 5);
    expect(curve!.value[after]!).toBeCloseTo(early!, 1);
  });

  it('says which point lies outside of it', () => {
    const flight = observeFlight(study, [point(5, 0), point(500, 0)]);
    expect(flight).toEqual({
      ok: false,
      message: expect.stringMatching(/^A point at 500 s lies outside the flight, which lasts from/) as string,
    });
  });
});
