import { describe, expect, it } from 'vitest';
import { compileStudy } from '../../../core/flight/compile.ts';
import { idealVelocity_mps, payloadForIdealVelocity_kg, thrustMoments } from '../../../core/solve/budget.ts';
import { emptyIdealVelocity_mps } from '../../../core/solve/coldStart.ts';
import { guessLinearTangent } from '../../../core/solve/guidance.ts';
import { r1WithGap } from '../flight/studies.ts';

const G0 = 9.80665;
const compiled = compileStudy(r1WithGap(7));
const { segments } = compiled.plan;
/** Both burns of R1 by the rocket equation, m/s; payload in t. */
const ideal = (p: number): number =>
  G0 * (338 * Math.log((2130 + p) / (768 + p)) + 366 * Math.log((532 + p) / (74 + p)));

describe('the budget of velocity', () => {
  it('is the rocket equation, burn by burn', () => {
    for (const payload_t of [0, 20, 60]) {
      // Three points of Gauss and Legendre in each of eight panels: the last one, from 1.8 to 1 of mass, errs by 5e-6.
      expect(Math.abs(idealVelocity_mps(segments, 0, payload_t * 1000) - ideal(payload_t))).toBeLessThan(
        0.05,
      );
    }
    expect(Math.abs(emptyIdealVelocity_mps(compiled) - ideal(0))).toBeLessThan(0.05);
    const upper = segments.findIndex((segment) => segment.start_s >= compiled.plan.eventTimes_s[7]! - 1e-9);
    expect(
      Math.abs(idealVelocity_mps(segments, upper, 33_000) - G0 * 366 * Math.log(565 / 107)),
    ).toBeLessThan(0.05);
  });

  it('has the moments of a steady acceleration', () => {
    // Hardly any flow: 10 m/s² for 100 s.
    const steady = {
      ...segments[0]!,
      start_s: 50,
      end_s: 150,
      thrust_N: 1e6,
      thrustRate_Nps: 0,
      flow_kgps: 0,
      flowRate_kgps2: 0,
      mass_kg: 1e5,
    };
    const moments = thrustMoments([steady], 0, 0);
    expect(moments.time_s).toBe(100);
    expect(moments.velocity_mps).toBeCloseTo(1000, 9);
    expect(moments.velocityMoment_m).toBeCloseTo(10 * 5000, 6);
    // ∫ a (T − t) dt and ∫ a t (T − t) dt.
    expect(moments.distance_m).toBeCloseTo(10 * 5000, 6);
    expect(moments.distanceMoment_ms).toBeCloseTo(10 * (100 ** 3 / 6), 3);
    expect(() => thrustMoments([steady], 1, 0)).toThrow('thrustMoments: received segment 1, allowed 0 to 0');
  });

  it('turns round: the payload for a velocity', () => {
    expect(payloadForIdealVelocity_kg(segments, 0, ideal(41), 2e6)).toBeCloseTo(41_000, 0);
    // What even the empty vehicle does not have.
    expect(payloadForIdealVelocity_kg(segments, 0, ideal(0) + 1, 2e6)).toBe(0);
  });
});

describe('the first guess of the upper law', () => {
  it('brings a point mass over a flat Earth to height and level flight', () => {
    // Steady 8 m/s² for 400 s, gravity constant and no speed across to ease it: the guess is then exact in its own terms,
    // sin θ = A + B t with g T = ∫ a sin θ, and the height by the double integral.
    const y = Float64Array.of(6_478_137, 0, 0, 800, 2000, 0);
    const T = 400;
    const moments = {
      time_s: T,
      velocity_mps: 3200,
      velocityMoment_m: 8 * 80_000,
      distance_m: 8 * 80_000,
      distanceMoment_ms: (8 * T ** 3) / 6,
    };
    const { a, b_ps } = guessLinearTangent(y, moments, 6_578_137, 5000);
    const sine = (tangent: number): number => tangent / Math.sqrt(1 + tangent * tangent);
    const [A, B] = [sine(a), (sine(a + b_ps * T) - sine(a)) / T];
    // Gravity less v²/r with v from 2000 to 5000 m/s.
    let [climb, height] = [800, 100_000];
    const n = 40_000;
    for (let i = 0; i < n; i++) {
      const t = ((i + 0.5) * T) / n;
      const v = 2000 + (3000 * t) / T;
      const slope = 8 * (A + B * t) - (3.986004418e14 / 6_478_137 ** 2 - v ** 2 / 6_478_137);
      height += (climb * T) / n + 0.5 * slope * (T / n) ** 2;
      climb += (slope * T) / n;
    }
    expect(Math.abs(climb)).toBeLessThan(0.5);
    expect(Math.abs(height - 200_000)).toBeLessThan(100);
  });

  it('is finite and within 60 degrees, however hopeless', () => {
    for (const thrust of [1, 1e-3, 1e3]) {
      const moments = {
        time_s: 300,
        velocity_mps: 3000 * thrust,
        velocityMoment_m: 4.5e5 * thrust,
        distance_m: 4.5e5 * thrust,
        distanceMoment_ms: 4.5e7 * thrust,
      };
      const { a, b_ps } = guessLinearTangent(Float64Array.of(6.4e6, 0, 0, -500, 100, 0), moments, 7e6, 7600);
      expect(Math.abs(a)).toBeLessThanOrEqual(Math.tan(Math.PI / 3) + 1e-3);
      expect(Math.abs(a + 300 * b_ps)).toBeLessThanOrEqual(Math.tan(Math.PI / 3) + 1e-3);
    }
    const none = { time_s: 300, velocity_mps: 0, velocityMoment_m: 0, distance_m: 0, distanceMoment_ms: 0 };
    const { a, b_ps } = guessLinearTangent(Float64Array.of(6.4e6, 0, 0, 0, 0, 0), none, 6.6e6, 7600);
    expect(Number.isFinite(a) && Number.isFinite(b_ps)).toBe(true);
  });
});
