import { describe, expect, it } from 'vitest';
import { getNumberByPath } from '../../../../core/contract/studyNumbers.ts';
import type { SteeringLaw } from '../../../../core/contract/sequence.ts';
import { loadStudy, validateStudy } from '../../../../core/contract/load.ts';
import { compileStudy, startValues } from '../../../../core/flight/compile.ts';
import { SOLVE_ACCURACY } from '../../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../../core/flight/engine.ts';
import { recordFlight } from '../../../../core/flight/record.ts';
import { Worst } from '../../earth/worst.ts';
import { event, r1 } from '../studies.ts';

const LAWS: Record<string, SteeringLaw> = {
  bilinear: {
    kind: 'bilinearTangent',
    startAngle_deg: 40,
    endAngle_deg: -8,
    weight: 1.2,
    span_s: 400,
    held: ['weight'],
  },
  polynomial: {
    kind: 'attitude',
    axes: 'start',
    shape: 'polynomial',
    nodes: [
      { after_s: 0, pitch_deg: 35, yaw_deg: 0, held: ['yaw_deg'] },
      { after_s: 150, pitch_deg: 22, yaw_deg: 1, held: [] },
      { after_s: 300, pitch_deg: 5, held: [] },
    ],
  },
  spline: {
    kind: 'attitude',
    axes: 'launch',
    shape: 'spline',
    nodes: [0, 80, 170, 250, 330].map((after_s, i) => ({
      after_s,
      pitch_deg: 30 - 11 * i,
      yaw_deg: 0.5 * i,
      held: i === 0 ? ['pitch_deg', 'yaw_deg'] : [],
    })),
  },
  fixed: { kind: 'fixed', axes: 'start', pitch_deg: 18, yaw_deg: -2, held: [] },
  prograde: { kind: 'prograde', velocity: 'inertial' },
};
const withLaw = (law: SteeringLaw): ReturnType<typeof r1> =>
  r1((study) => {
    event(study, 'tangent').action = { kind: 'steer', law };
    // Along its own velocity the vehicle must climb steeply to begin with.
    const kick = event(study, 'kick').action;
    if (law.kind === 'prograde' && kick.kind === 'steer' && kick.law.kind === 'kick') kick.law.angle_deg = 1;
  });

describe('free numbers of a law', () => {
  it('stand at paths of the document, in its units, and hold what the study holds', () => {
    for (const [name, law] of Object.entries(LAWS)) {
      const study = withLaw(law);
      const { parameters } = compileStudy(study);
      for (const parameter of parameters) {
        const found = getNumberByPath(study, parameter.path);
        expect(found.ok, `${name}: ${parameter.path}`).toBe(true);
        if (found.ok) expect(parameter.value / parameter.perUnit).toBeCloseTo(found.value, 12);
      }
    }
    const freeOf = (law: SteeringLaw): string[] =>
      compileStudy(withLaw(law))
        .parameters.filter((p) => p.free && p.path.includes('tangent'))
        .map((p) => p.path.replace('sequence.events.tangent.action.law.', ''));
    expect(freeOf(LAWS['bilinear']!)).toEqual(['startAngle_deg', 'endAngle_deg']);
    expect(freeOf(LAWS['polynomial']!)).toEqual([
      'nodes.0.pitch_deg',
      'nodes.1.pitch_deg',
      'nodes.1.yaw_deg',
      'nodes.2.pitch_deg',
    ]);
    expect(freeOf(LAWS['spline']!)).toHaveLength(8);
    expect(freeOf(LAWS['fixed']!)).toEqual(['pitch_deg', 'yaw_deg']);
  });

  it('may have their source and spread told at that path', () => {
    const study = withLaw(LAWS['polynomial']!);
    const path = 'sequence.events.tangent.action.law.nodes.1.pitch_deg';
    study.provenance[path] = { source: 'guessed', spread: { shape: 'uniform', low: 20, high: 24 } };
    expect(validateStudy(study).ok).toBe(true);
    study.provenance[path.replace('nodes.1', 'nodes.3')] = { source: 'guessed' };
    expect(validateStudy(study).ok).toBe(false);
  });

  it.each(Object.keys(LAWS))(
    'over held steps give the flight that they give afresh, with differences that hardly depend on the step: %s',
    (name) => {
      const compiled = compileStudy(withLaw(LAWS[name]!));
      const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
      const values = startValues(compiled);
      expect(engine.fly(values), engine.status.message).toBe('flown');
      const base = [...engine.end];
      const first = compiled.plan.segments.findIndex((segment) => !segment.held);
      expect(engine.refly(values, first)).toBe(true);
      expect([...engine.end]).toEqual(base);
      // As for the older laws: a difference at h errs by half the second derivative times h.
      const held = new Worst(`differences at h and h/10, ${name}`, 'relative', 1e-3);
      compiled.parameters.forEach((parameter, index) => {
        if (!parameter.free) return;
        const moved = (h: number): number[] => {
          const shifted = Float64Array.from(values);
          shifted[index]! += h * parameter.scale;
          expect(engine.refly(shifted, engine.firstSegmentOf(parameter))).toBe(true);
          return base.map((each, i) => (engine.end[i]! - each) / h);
        };
        const coarse = moved(1e-5);
        const fine = moved(1e-6);
        const size = Math.hypot(...coarse.slice(0, 3));
        expect(size, parameter.path).toBeGreaterThan(0);
        for (let i = 0; i < 3; i++) held.add(parameter.path, (coarse[i]! - fine[i]!) / size);
        const far = Float64Array.from(values);
        far[index]! += 1e-3 * parameter.scale;
        engine.refly(far, engine.firstSegmentOf(parameter));
        const fresh = new FlightEngine(compiled, SOLVE_ACCURACY);
        expect(fresh.fly(far)).toBe('flown');
        const apart = Math.hypot(...[0, 1, 2].map((i) => engine.end[i]! - fresh.end[i]!));
        // Both have the error of the steps, under a metre.
        expect(apart, parameter.path).toBeLessThan(2 + 1e-3 * 1e-3 * size);
      });
      held.report();
    },
  );

  it('begin a new segment of the plan where the profile is held', () => {
    const compiled = compileStudy(withLaw(LAWS['polynomial']!));
    const start_s = compiled.plan.segments.find(
      (s) => s.lawEvent >= 0 && !s.held && compiled.study.sequence.events[s.lawEvent]!.id === 'tangent',
    )!.start_s;
    const starts = (after_s: number): boolean =>
      compiled.plan.segments.some((s) => Math.abs(s.start_s - start_s - after_s) < 1e-9);
    expect([150, 300].map(starts)).toEqual([false, true]);
    const record = recordFlight(compiled, startValues(compiled));
    expect(record.status.code).toBe('flown');
    expect(Math.abs(record.ledger!.closure_mps)).toBeLessThan(1e-6);
  });

  it('are refused where the document contradicts itself', () => {
    const refused = (law: unknown): string => {
      const study = structuredClone(r1()) as unknown as {
        sequence: { events: { id: string; action: unknown }[] };
      };
      study.sequence.events.find((each) => each.id === 'tangent')!.action = { kind: 'steer', law };
      const result = loadStudy(JSON.stringify(study));
      return result.ok ? 'accepted' : result.problems[0]!.sentence;
    };
    const node = (after_s: number, more: object = {}): object => ({ after_s, pitch_deg: 10, ...more });
    const profile = (nodes: object[], more: object = {}): unknown => ({ kind: 'attitude', nodes, ...more });
    expect(refused(profile([node(0), node(5)]))).toBe('accepted');
    expect(refused(profile([node(1), node(5)]))).toContain('law.nodes.0.after_s: received 1');
    expect(refused(profile([node(0), node(5), node(5)]))).toContain('after_s rises');
    expect(refused(profile([node(0)]))).toContain('law.nodes');
    expect(refused(profile([node(0, { held: ['yaw_deg'] }), node(5)]))).toContain('which is not stated here');
    expect(refused(profile([node(0, { held: ['pitch_deg', 'pitch_deg'] }), node(5)]))).toContain(
      'a second time',
    );
    const ten = Array.from({ length: 10 }, (_, i) => node(i));
    expect(refused(profile(ten, { shape: 'polynomial' }))).toContain('9 at most');
    expect(refused(profile(ten))).toBe('accepted');
    expect(refused({ kind: 'fixed', pitch_deg: 3, held: ['yaw_deg'] })).toContain('law.held.0');
    expect(
      refused({ kind: 'bilinearTangent', startAngle_deg: 90, endAngle_deg: 0, weight: 1, span_s: 9 }),
    ).toContain('startAngle_deg');
    expect(refused({ kind: 'prograde', velocity: 'air' })).toContain('"inertial" or "ground"');
  });
});
