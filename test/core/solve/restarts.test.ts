import { describe, expect, it } from 'vitest';
import { AZIMUTH, compileStudy } from '../../../core/flight/compile.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { checkByRestarts, RESTARTS_AGREE_kg } from '../../../core/solve/restarts.ts';
import { ondelStudy } from '../../fixtures/study.ts';

const compiled = compileStudy(ondelStudy());
const outcome = solvePayload(compiled);
const answer = { asked: compiled, outcome };

describe('restarts around an answer', () => {
  it('come to the same answer where there is no other', () => {
    const study = ondelStudy();
    // Due east is as far south as it is north: without an inclination to meet, there is one best azimuth.
    const { inclination_deg: _, ...target } = study.target;
    const east = compileStudy({ ...study, target });
    const report = checkByRestarts({ asked: east, outcome: solvePayload(east) }, 5, 3);
    expect(report).toMatchObject({ tried: 5, same: report.converged, better: null, better_kg: 0 });
    expect(report.converged).toBeGreaterThan(3);
    expect(report.scatter_kg).toBeLessThan(RESTARTS_AGREE_kg);
  });

  it('find the launch to the other side of the equator that carries more into the same inclination', () => {
    const report = checkByRestarts(answer, 10, 3);
    const { better, better_kg } = report;
    expect(better!.payload_kg - outcome.payload_kg).toBe(better_kg);
    expect(better_kg).toBeGreaterThan(RESTARTS_AGREE_kg);
    // sin(azimuth) is the same on both sides of east but for what the turning Earth adds: spherical trigonometry,
    // cos i = cos φ sin β.
    const [one, other] = [outcome.values[AZIMUTH]!, better!.values[AZIMUTH]!];
    expect(Math.cos(one) * Math.cos(other)).toBeLessThan(0);
    expect(Math.sin(other)).toBeCloseTo(Math.sin(one), 1);
  });

  it('are the same for the same seed, and end when told to', () => {
    const flights = (seed: number): number => checkByRestarts(answer, 3, seed).flights;
    expect(flights(8)).toBe(flights(8));
    expect(flights(8)).not.toBe(flights(9));
    let asked = 0;
    const stopped = checkByRestarts(answer, 50, 1, () => ++asked > 2);
    expect(stopped.tried).toBeLessThan(3);
  });

  it('are refused around what is no answer', () => {
    expect(() => checkByRestarts({ ...answer, outcome: { ...outcome, status: 'notSolved' } }, 1, 1)).toThrow(
      /received one that is notSolved, allowed is a converged one/,
    );
  });
});
