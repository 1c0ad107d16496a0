import { describe, expect, it } from 'vitest';
import { compileStudy, PAYLOAD } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { solveOnEnergy } from '../../../core/solve/energy.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { OrbitTarget } from '../../../core/solve/target.ts';
import { r1, r1WithGap } from '../flight/studies.ts';

const answer = solvePayload(compileStudy(r1()));
const compiled = compileStudy(r1WithGap(20));

describe('closing the payload on energy', () => {
  it('meets the energy and nothing else, whatever payload it starts from', () => {
    const first = solveOnEnergy(compiled, answer.values, answer.payload_kg);
    expect(first.status).toBe('converged');
    // 1 µm/s of energy at 22 kg per m/s.
    for (const guess_kg of [1000, 20_000, 60_000, 300_000, 2_000_000]) {
      const other = solveOnEnergy(compiled, answer.values, guess_kg);
      expect(other.status, `from ${guess_kg} kg: ${other.message}`).toBe('converged');
      expect(Math.abs(other.payload_kg - first.payload_kg)).toBeLessThan(1e-3);
    }
    const { orbit } = recordFlight(compiled, first.values);
    // A speed error of 0.3 mm/s, the coarser steps of a solve, is 0.5 m of semi-major axis.
    expect(Math.abs(orbit!.semiMajorAxis_m - 6_578_137)).toBeLessThan(1);
    expect(orbit!.perigeeHeight_m).toBeLessThan(100_000);
    expect(first.free).toEqual([PAYLOAD]);
    expect(first.multipliers_kg).toHaveLength(0);
    expect(first.memory).toBeNull();
  });

  it('is the solve’s own answer where that stands', () => {
    const same = solveOnEnergy(compileStudy(r1()), answer.values, 30_000);
    expect(same.payload_kg).toBeCloseTo(answer.payload_kg, 3);
  });

  it('steers as it was told to', () => {
    const first = solveOnEnergy(compiled, answer.values, 30_000);
    expect([...first.values.slice(1)]).toEqual([...answer.values.slice(1)]);
    expect(new OrbitTarget(compiled.study.target).count).toBe(3);
  });

  it('says so when no payload has that energy', () => {
    const values = Float64Array.from(answer.values);
    values[2] = 0.4;
    const lost = solveOnEnergy(compiled, values, 30_000);
    expect(lost.status).toBe('notSolved');
    expect(lost.payload_kg).toBeNaN();
    expect(lost.message).toMatch(/^No payload brings this steering to the orbital energy of the target/);
  });
});
