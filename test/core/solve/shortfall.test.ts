import { describe, expect, it } from 'vitest';
import { compileStudy, PAYLOAD, startValues } from '../../../core/flight/compile.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { freeParameters, solvePayload } from '../../../core/solve/payload.ts';
import { leastPayload_kg } from '../../../core/solve/payloadProblem.ts';
import { OrbitTarget } from '../../../core/solve/target.ts';
import { wideStarts } from '../../../core/solve/wideStart.ts';
import { r1 } from '../flight/studies.ts';

const answer = solvePayload(compileStudy(r1()));

/** R1 whose upper stage weighs `more_kg` more when dry, which is as good as payload. */
const heavier = (more_kg: number): ReturnType<typeof r1> =>
  r1(({ vehicle }) => (vehicle.bodies.upper!.dryMass_kg += more_kg));

describe('a vehicle that falls short of the orbit', () => {
  it('is told by how many kilograms', () => {
    const outcome = solvePayload(compileStudy(heavier(answer.payload_kg + 5000)));
    expect(outcome.status).toBe('cannotReachOrbit');
    expect(outcome.payload_kg).toBeNaN();
    expect(outcome.message).toContain('gets there 5000 kg lighter at insertion');
    // The scaled tolerances of two solves are grams of payload.
    expect(Math.abs(outcome.values[PAYLOAD]! + 5000)).toBeLessThan(0.01);
  });

  it('is solved when it does so by one kilogram less than nothing', () => {
    const outcome = solvePayload(compileStudy(heavier(answer.payload_kg - 1)));
    expect(outcome.status).toBe('converged');
    expect(outcome.payload_kg).toBeCloseTo(1, 2);
  });

  it('is told that it falls back where its upper stage is too weak', () => {
    const weak = r1(({ vehicle }) => {
      vehicle.bodies.upper!.engineGroups.main!.thrustVacuum_N *= 0.12;
    });
    const outcome = solvePayload(compileStudy(weak));
    expect(outcome.status).toBe('cannotReachOrbit');
    expect(outcome.message).toMatch(/^Even without payload the vehicle falls back to the ground/);
  });

  it('keeps a positive mass at the least payload that is looked at', () => {
    const compiled = compileStudy(r1());
    const values = startValues(compiled);
    values[PAYLOAD] = leastPayload_kg(compiled);
    // A twentieth of what is left empty: 62 t and 12 t of reserve.
    expect(new FlightEngine(compiled).endMass_kg(values)).toBeCloseTo(0.05 * 74_000, 3);
  });
});

describe('the wide search', () => {
  it('finds what the cold start finds', () => {
    const compiled = compileStudy(r1());
    const engine = new FlightEngine(compiled);
    const { starts, anyFlown } = wideStarts(engine, freeParameters(compiled), startValues(compiled), 3);
    expect(anyFlown).toBe(true);
    expect(starts).toHaveLength(3);
    const again = solvePayload(compiled, { values: starts[0]!.values, fromValues: true });
    expect(again.status).toBe('converged');
    // Both solves are good to grams.
    expect(Math.abs(again.payload_kg - answer.payload_kg)).toBeLessThan(0.01);
  });
});

describe('the least velocity to an orbit', () => {
  it('is the speed of a grazing ellipse where the orbit touches the ground’s radius', () => {
    // At the radius itself no height is to be gained: the circular speed less what the start has, √(GM/r) by vis-viva.
    const target = new OrbitTarget({ perigee_m: 200_000, apogee_m: 200_000 });
    const radius = 6_578_137;
    const circular = Math.sqrt(3.986004418e14 / radius);
    const start = Float64Array.of(radius, 0, 0, 0, 400, 0);
    expect(target.leastVelocity_mps(start, radius)).toBeCloseTo(circular - 400, 6);
  });
});
