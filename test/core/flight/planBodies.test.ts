import { describe, expect, it } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy, startValues, type CompiledStudy } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { engines, happening, plannedTime_s, r1, ringed } from './studies.ts';

const G0 = 9.80665;

/** R1 with strap-ons that burn 50 t each from the start and part one second after their cut-off. */
function strapped(...ids: string[]): Study {
  return r1((study) => {
    const { bodies, aerodynamics } = study.vehicle;
    const [whole] = aerodynamics;
    const entry = (names: string[]): void => void aerodynamics.push({ ...whole!, bodies: names });
    ids.forEach((id, i) => {
      bodies[id] = {
        name: id,
        role: 'strapOn',
        ridesOn: 'booster',
        dryMass_kg: 3000,
        fittings: {},
        propellant: { usable_kg: 50_000, residual_kg: 200, flightReserve_kg: 0, returnReserve_kg: 0 },
        engineGroups: {
          solid: engines({
            thrustVacuum_N: 1.9e6,
            startUp: { delay_s: 0.1, ramp_s: 0.5 },
            shutDown: { delay_s: 0.1, ramp_s: 0.7 },
          }),
        },
      };
      entry([id]);
      entry(['booster', 'upper', ...ids.slice(i)]);
      study.sequence.events.splice(
        3 + 3 * i,
        0,
        happening(
          `${id}-on`,
          { kind: 'time', time_s: 0 },
          { kind: 'light', body: id, group: 'solid', throttle: 1 },
        ),
        happening(
          `${id}-off`,
          { kind: 'propellant', body: id, left: 'reserves' },
          { kind: 'cut', body: id, keep: 0 },
        ),
        happening(
          `${id}-go`,
          { kind: 'after', events: [`${id}-off`], delay_s: 1 },
          { kind: 'part', link: id },
        ),
      );
    });
  });
}

function branchOf(compiled: CompiledStudy, id: string): number {
  return compiled.plan.branches.findIndex((branch) => branch.id === id);
}

describe('strap-ons', () => {
  const compiled = compileStudy(strapped('left', 'right'));

  it('burn beside the booster and leave in pairs, at one instant', () => {
    // Start: 0.1 s and half of 0.5 s lost; end: 0.1 s and half of 0.7 s still to come at the command.
    const cut_s = 50_000 / (1.9e6 / (300 * G0)) + 0.35 - 0.45;
    for (const id of ['left', 'right']) {
      expect(plannedTime_s(compiled, `${id}-off`)).toBeCloseTo(cut_s, 8);
      expect(plannedTime_s(compiled, `${id}-go`)).toBeCloseTo(cut_s + 1, 8);
      const branch = compiled.plan.branches[branchOf(compiled, id)]!;
      expect(branch.fromBranch).toBe(-1);
      // Dry, and the residual that never burns.
      expect(branch.segments[0]!.mass_kg).toBeCloseTo(3200, 5);
    }
  });

  it('leave the time of the booster cut-off as it is', () => {
    expect(plannedTime_s(compiled, 'meco')).toBeCloseTo(plannedTime_s(compileStudy(r1()), 'meco'), 9);
  });

  it('fall to the ground each as a track of its own, together', () => {
    const record = recordFlight(compiled, startValues(compiled));
    expect(record.status.code).toBe('flown');
    expect(record.tracks.map((track) => [track.id, track.end])).toEqual([
      ['main', 'insertion'],
      ['left', 'impact'],
      ['right', 'impact'],
      ['booster', 'impact'],
    ]);
    const [, left, right] = record.tracks;
    // They part at the same instant but for the rounding of a root, 1e-12 s.
    expect(Math.abs(left!.end_s - right!.end_s)).toBeLessThan(1e-6);
  });

  it('are each their own: one alone changes masses by one', () => {
    const one = compileStudy(strapped('left'));
    expect(compiled.plan.liftoffMass_kg - one.plan.liftoffMass_kg).toBeCloseTo(53_200, 6);
  });
});

describe('a ring and a fairing', () => {
  const study = ringed();
  const compiled = compileStudy(study);
  const masses = (id: string): number[] => {
    const at = plannedTime_s(compiled, id);
    const index = compiled.plan.segments.findIndex((segment) => segment.start_s === at);
    const before = compiled.plan.segments[index - 1]!;
    const span_s = before.end_s - before.start_s;
    const end = before.mass_kg - span_s * (before.flow_kgps + 0.5 * span_s * before.flowRate_kgps2);
    return [end, compiled.plan.segments[index]!.mass_kg];
  };

  it('ride where they were put and part where they are told to', () => {
    expect(compiled.plan.branches.map((branch) => branch.id)).toEqual(['booster+ring', 'fairing']);
    const [before, after] = masses('separation');
    // The booster with fittings, residual and reserve, the ring, and what its tail-off is yet to burn: nothing after 2 s.
    expect(before! - after!).toBeCloseTo(118_000 + 900 + 118_000 + 4000, 5);
    const [closed, open] = masses('unveil');
    expect(closed! - open!).toBeCloseTo(6000, 6);
  });

  it('change the arrangement whose drag counts', () => {
    const flying = compiled.plan.segments.map(
      (segment) => study.vehicle.aerodynamics[segment.arrangement]!.bodies,
    );
    expect(flying[0]).toEqual(['booster', 'ring', 'upper', 'fairing']);
    expect(flying.at(-1)).toEqual(['upper']);
    expect(flying.some((bodies) => bodies.join() === 'upper,fairing')).toBe(true);
  });
});

describe('a piece freed by a piece', () => {
  const study = r1((draft) => {
    const { vehicle } = draft;
    const { bodies, aerodynamics } = vehicle;
    vehicle.bodies = {
      booster: bodies.booster!,
      ring: {
        name: 'ring',
        role: 'ring',
        ridesOn: 'booster',
        dryMass_kg: 1000,
        fittings: {},
        engineGroups: {},
      },
      upper: { ...bodies.upper!, ridesOn: 'ring' },
    };
    aerodynamics[0]!.bodies.push('ring');
    aerodynamics[2]!.bodies.push('ring');
    aerodynamics.push(
      { ...aerodynamics[2]!, bodies: ['ring'] },
      { ...aerodynamics[2]!, bodies: ['booster'] },
    );
    draft.sequence.events.push(
      happening(
        'drop',
        { kind: 'after', events: ['separation'], delay_s: 20 },
        { kind: 'part', link: 'ring' },
      ),
    );
  });
  const compiled = compileStudy(study);
  const record = recordFlight(compiled, startValues(compiled));

  it('is planned as a branch of that piece', () => {
    const ring = compiled.plan.branches[branchOf(compiled, 'ring')]!;
    expect(ring.fromBranch).toBe(branchOf(compiled, 'booster+ring'));
    expect(ring.segments[0]!.start_s).toBeCloseTo(plannedTime_s(compiled, 'separation') + 20, 9);
    const [first, second] = compiled.plan.branches[branchOf(compiled, 'booster+ring')]!.segments;
    expect(first!.mass_kg - second!.mass_kg).toBe(1000);
  });

  it('starts from where that piece is, not from the main flight', () => {
    const track = (id: string) => record.tracks.find((each) => each.id === id)!;
    const ring = track('ring');
    const from = new Float64Array(6);
    const start = new Float64Array(6);
    track('booster+ring').steps.sample(ring.start_s, from);
    ring.steps.sample(ring.start_s, start);
    expect([...start]).toEqual([...from]);
    const main = new Float64Array(12);
    track('main').steps.sample(ring.start_s, main);
    // The upper stage has burned for 20 s by then.
    expect(Math.hypot(main[0]! - start[0]!, main[1]! - start[1]!, main[2]! - start[2]!)).toBeGreaterThan(500);
    expect(record.log.filter((entry) => entry.id === 'drop').map((entry) => entry.track)).toEqual([
      'booster+ring',
    ]);
  });

  it('is not flown when what it would part from is down already', () => {
    const late = structuredClone(study);
    const drop = late.sequence.events.at(-1)!;
    drop.trigger = { kind: 'after', events: ['separation'], delay_s: 2000 };
    const fallen = compileStudy(late);
    const tracks = recordFlight(fallen, startValues(fallen)).tracks.map((each) => each.id);
    expect(tracks).toEqual(['main', 'booster+ring']);
  });
});

describe('a piece that parts while it still pushes', () => {
  it('pushes on the way that the stack pointed just before, not where the rest turns to', () => {
    // Cut-off, parting, ignition and the upper stage's law, at an angle to the path, all at one instant.
    const compiled = compileStudy(
      r1((study) => {
        study.vehicle.bodies.booster!.engineGroups.main!.shutDown = { delay_s: 0, ramp_s: 2 };
      }),
    );
    const record = recordFlight(compiled, startValues(compiled));
    const booster = record.tracks.find((track) => track.id === 'booster')!;
    const [x, y, z] = booster.heldAim!;
    const state = new Float64Array(12);
    record.tracks[0]!.steps.sample(booster.start_s, state);
    const air = [state[3]! + 7.292115e-5 * state[1]!, state[4]! - 7.292115e-5 * state[0]!, state[5]!];
    // Zero angle of attack: along the velocity through the air.
    expect((x! * air[0]! + y! * air[1]! + z! * air[2]!) / Math.hypot(...air)).toBeCloseTo(1, 9);
    // 30.4 MN that fall to nothing in two seconds, on 240 t: some 125 m/s, less a little gravity along the path.
    const end = new Float64Array(6);
    booster.steps.sample(booster.start_s + 2, end);
    const gained = Math.hypot(end[3]!, end[4]!, end[5]!) - Math.hypot(state[3]!, state[4]!, state[5]!);
    expect(gained).toBeGreaterThan(80);
  });
});

describe('commands to a piece that has parted', () => {
  it('are carried out on the piece: a booster may burn on by itself', () => {
    const compiled = compileStudy(
      r1((study) => {
        study.vehicle.bodies.booster!.engineGroups.main!.startUp = { delay_s: 0, ramp_s: 1 };
        study.sequence.events.push(
          happening(
            'again',
            { kind: 'after', events: ['separation'], delay_s: 30 },
            { kind: 'light', body: 'booster', group: 'main', engines: 2, throttle: 1 },
          ),
          happening(
            'off',
            { kind: 'after', events: ['again'], delay_s: 10 },
            { kind: 'cut', body: 'booster', keep: 0 },
          ),
        );
      }),
    );
    const booster = compiled.plan.branches[0]!;
    const lit = booster.segments.find((segment) => segment.thrust_N === 3.8e6)!;
    expect(lit.start_s).toBeCloseTo(plannedTime_s(compiled, 'separation') + 31, 9);
    const flow = 3.8e6 / (338 * G0);
    expect(booster.segments[0]!.mass_kg - booster.segments.at(-1)!.mass_kg).toBeCloseTo(9.5 * flow, 6);
    // The main flight knows nothing of it.
    const fired = compiled.plan.segments.flatMap((segment) => segment.fired);
    expect(fired).not.toContain(compiled.study.sequence.events.findIndex((each) => each.id === 'again'));
  });
});
