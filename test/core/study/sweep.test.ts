import { describe, expect, it } from 'vitest';
import { compileStudy, PAYLOAD } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { GapError, withGap } from '../../../core/study/gap.ts';
import { sweepGap, sweepSteps, upperParameters, type SweepPoint } from '../../../core/study/sweep.ts';
import reference from '../../published/r1/reference.json' with { type: 'json' };
import { Worst } from '../earth/worst.ts';
import { event, happening, r1 } from '../flight/studies.ts';

const study = r1();
const OVERLAPS = [-2, -4];
const GAPS = [...reference.gap_sweep.gap_s, ...OVERLAPS];
const sweep = sweepGap(study, {
  gaps_s: GAPS,
  modes: ['reoptimised', 'held', 'fixed'],
  reference_s: 0,
  ledgers: true,
});

function point(mode: SweepPoint['mode'], gap_s: number): SweepPoint {
  const found = sweep.points.find((each) => each.mode === mode && each.gap_s === gap_s);
  if (found === undefined) throw new Error(`no point ${mode} at ${gap_s} s`);
  return found;
}

describe('the sweep of R1', () => {
  it('tells each payload as a share of that at the reference gap', () => {
    for (const gap_s of reference.gap_sweep.gap_s) {
      const ours = point('reoptimised', gap_s);
      expect(ours.outcome.status, ours.outcome.message).toBe('converged');
      expect(ours.share).toBeCloseTo(ours.payload_kg / point('reoptimised', 0).payload_kg, 14);
    }
  });

  it('comes out as a cold solve does at each gap, away from zero and back', () => {
    // What the design promises: 0.01 kg.
    const apart = new Worst('sweep against cold solves', 'kg', 0.01);
    for (const gap_s of GAPS) {
      const cold = solvePayload(compileStudy(withGap(study, 'ignition', gap_s)));
      expect(cold.status).toBe('converged');
      apart.add(`${gap_s} s`, point('reoptimised', gap_s).payload_kg - cold.payload_kg);
    }
    apart.report();
    // Dragged from 0 to 30 s and back in steps, each solve from the one before.
    const back = new Worst('dragged away and back', 'kg', 0.01);
    const start = solvePayload(compileStudy(study));
    let memory = start.memory!;
    for (const gap_s of [3, 8, 14, 21, 30, 17, 5, -3, -1, 0]) {
      const next = solvePayload(compileStudy(withGap(study, 'ignition', gap_s)), { memory });
      expect(next.status, `${gap_s} s: ${next.message}`).toBe('converged');
      memory = next.memory!;
      if (gap_s === 0) back.add('0 s', next.payload_kg - start.payload_kg);
    }
    back.report();
  });

  it('is the same in all three modes at the reference point, and orders them elsewhere', () => {
    for (const mode of ['held', 'fixed'] as const) {
      expect(Math.abs(point(mode, 0).payload_kg - point('reoptimised', 0).payload_kg)).toBeLessThan(1e-3);
    }
    for (const gap_s of GAPS) {
      const best = point('reoptimised', gap_s);
      const held = point('held', gap_s);
      // Held has fewer freedoms for the same orbit, so it cannot carry more; 1 g for where the solvers stop.
      expect(held.outcome.status).toBe('converged');
      expect(held.payload_kg).toBeLessThan(best.payload_kg + 1e-3);
      if (gap_s >= 5) expect(best.payload_kg - held.payload_kg).toBeGreaterThan(1);
      // Its booster steers as at the reference point, its upper stage does not.
      const kick = compileStudy(study).parameters.findIndex((each) => each.path.endsWith('angle_deg'));
      expect(held.outcome.values[kick]).toBe(sweep.reference.outcome.values[kick]);
      expect(held.outcome.free).not.toContain(kick);
      if (gap_s !== 0)
        expect(held.outcome.values[kick + 1]).not.toBe(sweep.reference.outcome.values[kick + 1]);
    }
  });

  it('misses the target orbit with all steering fixed, and shows by how much', () => {
    for (const gap_s of GAPS) {
      const fixed = point('fixed', gap_s);
      expect(fixed.outcome.status).toBe('converged');
      expect(fixed.outcome.message).toContain("the orbit's shape is not held to the target");
      expect(fixed.outcome.free).toEqual([PAYLOAD]);
      const values = Float64Array.from(sweep.reference.outcome.values);
      values[PAYLOAD] = fixed.payload_kg;
      const record = recordFlight(compileStudy(withGap(study, 'ignition', gap_s)), values);
      // The orbital energy is the target's: the apsides' mean is 200 km. 10 m is what the coarser steps of a solve
      // leave, 0.5 m at perigee, with the energy's own tolerance of 1 µm/s far below.
      expect(
        Math.abs((record.orbit!.perigeeHeight_m + record.orbit!.apogeeHeight_m) / 2 - 200_000),
      ).toBeLessThan(10);
      expect(fixed.perigee_m).toBeCloseTo(record.orbit!.perigeeHeight_m, 3);
      if (gap_s !== 0) expect(fixed.perigee_m).toBeLessThan(200_000 - 10_000);
    }
    // The other modes meet it.
    const record = recordFlight(
      compileStudy(withGap(study, 'ignition', 30)),
      point('held', 30).outcome.values,
    );
    expect(Math.abs(record.orbit!.perigeeHeight_m - 200_000)).toBeLessThan(10);
  });

  it('carries each answer with its ledger, which closes', () => {
    for (const { ledger, mode, gap_s } of sweep.points) {
      expect(Math.abs(ledger!.closure_mps), `${mode} ${gap_s}`).toBeLessThan(1e-6 * ledger!.ideal_mps);
    }
    // Two burns in a row have the ideal velocity of Tsiolkovsky's equation, whatever the gap between them. Good to the
    // integrator's 1e-11 a step over some 200 steps.
    for (const { ledger, gap_s, payload_kg: p } of sweep.points) {
      if (gap_s < 0) continue;
      const ideal =
        9.80665 * (338 * Math.log((2130e3 + p) / (768e3 + p)) + 366 * Math.log((532e3 + p) / (74e3 + p)));
      expect(Math.abs(ledger!.ideal_mps - ideal)).toBeLessThan(1e-5);
    }
  });

  it('gives the gap between half-thrust points: half the start ramp more than the command gap', () => {
    for (const gap_s of GAPS) expect(point('reoptimised', gap_s).effectiveGap_s).toBeCloseTo(gap_s + 0.6, 9);
  });
});

describe('a sweep', () => {
  it('keeps the order asked for, whatever the order it solves in', () => {
    const asked = [10, -1, 4];
    const { points } = sweepGap(study, { gaps_s: asked, modes: ['held', 'reoptimised'], reference_s: 4 });
    expect(points.map((each) => [each.mode, each.gap_s])).toEqual([
      ...asked.map((gap_s) => ['held', gap_s]),
      ...asked.map((gap_s) => ['reoptimised', gap_s]),
    ]);
    expect(points.every((each) => each.ledger === null)).toBe(true);
    expect(points[2]!.share).toBeCloseTo(1, 9);
  });

  it('reads the gap that it varies, not another one of the study', () => {
    // A second gap in the list before the staging gap: the upper stage's twin start of a vernier would be one.
    const two = r1((draft) => {
      draft.vehicle.bodies.upper!.engineGroups.vernier = {
        ...draft.vehicle.bodies.upper!.engineGroups.main!,
        thrustVacuum_N: 1000,
        startUp: { delay_s: 0, ramp_s: 4 },
      };
      draft.sequence.events.splice(
        7,
        0,
        happening(
          'vernier',
          { kind: 'gap', cutoff: 'meco', gap_s: 3 },
          { kind: 'light', body: 'upper', group: 'vernier', throttle: 1 },
        ),
      );
    });
    const { points } = sweepGap(two, { gaps_s: [5], event: 'ignition' });
    expect(points[0]!.effectiveGap_s).toBeCloseTo(5.6, 9);
    expect(sweepGap(two, { gaps_s: [5] }).points[0]!.effectiveGap_s).toBeCloseTo(7, 9);
  });

  it('frees for the mode held what starts with the ignition or later, and nothing before', () => {
    for (const gap_s of [-3, 0, 12]) {
      const compiled = compileStudy(withGap(study, 'ignition', gap_s));
      const paths = upperParameters(compiled, 'ignition').map((index) => compiled.parameters[index]!.path);
      expect(paths).toEqual([
        'payload.mass_kg',
        'sequence.events.tangent.action.law.a',
        'sequence.events.tangent.action.law.b_per_s',
      ]);
    }
  });

  it('tells how far it is and can be left between two solves', () => {
    const seen: string[] = [];
    const options = { gaps_s: [0, 5], onProgress: (done: number, of: number) => seen.push(`${done}/${of}`) };
    sweepGap(study, options);
    expect(seen).toEqual(['1/3', '2/3', '3/3']);
    const steps = sweepSteps(study, { gaps_s: [0, 5] });
    expect(steps.next()).toEqual({ done: false, value: { done: 1, of: 3 } });
  });

  it('keeps what was solved when it is cancelled', () => {
    let solved = 0;
    const part = sweepGap(study, {
      gaps_s: [0, 5, 10, 15],
      onProgress: (done) => (solved = done),
      stop: () => solved >= 3,
    });
    expect(part.cancelled).toBe(true);
    expect(part.points.map((each) => each.gap_s)).toEqual([0, 5]);
    expect(part.points.every((each) => each.outcome.status === 'converged')).toBe(true);
    const none = sweepGap(study, { gaps_s: [0], stop: () => true });
    expect(none.cancelled).toBe(true);
    expect(none.reference.outcome.status).toBe('cancelled');
    expect(none.reference.outcome.payload_kg).toBeNaN();
    expect(none.points).toEqual([]);
  });

  it('keeps a point that does not converge, with its reason and no number', () => {
    // With a gap of ten minutes the upper stage is back on the ground before it is lit.
    const { points } = sweepGap(study, { gaps_s: [0, 600], modes: ['reoptimised', 'fixed'], ledgers: true });
    for (const lost of points.filter((each) => each.gap_s === 600)) {
      expect(lost.outcome.status).toBe(lost.mode === 'fixed' ? 'notSolved' : 'cannotReachOrbit');
      expect(lost.outcome.message).toMatch(/^[A-Z].*\.$/);
      for (const number of [lost.payload_kg, lost.share, lost.perigee_m, lost.apogee_m])
        expect(number).toBeNaN();
      expect(lost.ledger).toBeNull();
    }
    expect(
      points.filter((each) => each.gap_s === 0).every((each) => each.outcome.status === 'converged'),
    ).toBe(true);
  });

  it('refuses a study without a gap, a wrong name and an empty list', () => {
    const without = r1((draft) => {
      event(draft, 'ignition').trigger = { kind: 'after', events: ['meco'], delay_s: 2 };
    });
    expect(() => sweepGap(without, { gaps_s: [0] })).toThrow(GapError);
    expect(() => sweepGap(without, { gaps_s: [0] })).toThrow(
      /sequence\.events: received no event with a "gap"/,
    );
    expect(() => sweepGap(study, { gaps_s: [0], event: 'meco' })).toThrow(
      /received "meco", allowed is ignition/,
    );
    expect(() => sweepGap(study, { gaps_s: [] })).toThrow(/gaps_s: received none/);
  });
});
