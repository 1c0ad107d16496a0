import { describe, expect, it } from 'vitest';
import { compileStudy, type CompiledStudy } from '../../../core/flight/compile.ts';
import type { Segment } from '../../../core/flight/planTypes.ts';
import { engines, event, happening, plannedTime_s, r1, r1WithGap, sounding } from './studies.ts';

const G0 = 9.80665;
/** Flow of an R1 booster engine and of all upper-stage engines, kg/s. */
const ENGINE_kgps = 1.9e6 / (338 * G0);
const UPPER_kgps = 3.75e6 / (366 * G0);

function after(compiled: CompiledStudy, time_s: number): Segment {
  const { segments } = compiled.plan;
  return segments.filter((segment) => segment.start_s <= time_s + 1e-9).at(-1)!;
}

/** Propellant left on a body at the end of its last segment, main flight or freed, kg. */
function left_kg(compiled: CompiledStudy, id: string): number {
  const body = compiled.bodies.findIndex((each) => each.id === id);
  const flights = [compiled.plan.segments, ...compiled.plan.branches.map((branch) => branch.segments)];
  const last = flights.flatMap((segments) => segments.filter((each) => each.bodies.includes(body))).at(-1)!;
  const span_s = last.end_s - last.start_s;
  const burned = last.burns
    .filter((burn) => burn.body === body)
    .reduce((sum, burn) => sum + span_s * (burn.flow_kgps + 0.5 * span_s * burn.flowRate_kgps2), 0);
  return last.propellant_kg[body]! - burned;
}

describe('the staging gap', () => {
  it('of zero or more lights the upper stage so long after the cut-off', () => {
    for (const gap_s of [0, 5, 30]) {
      const compiled = compileStudy(r1WithGap(gap_s));
      // Sixteen engines burn the usable propellant.
      expect(plannedTime_s(compiled, 'meco')).toBeCloseTo(1_362_000 / (16 * ENGINE_kgps), 9);
      expect(plannedTime_s(compiled, 'ignition') - plannedTime_s(compiled, 'meco')).toBeCloseTo(gap_s, 10);
      expect(compiled.plan.gaps).toHaveLength(1);
      expect(compiled.plan.gaps[0]!.command_s).toBeCloseTo(gap_s, 10);
      // Half thrust half-way up the ramp of 1.2 s; the booster stops at once.
      expect(compiled.plan.gaps[0]!.effective_s).toBeCloseTo(gap_s + 0.6, 10);
      // Nothing is left to be cut in part, so that command acted on nothing.
      expect(plannedTime_s(compiled, 'partial-cutoff')).toBeNaN();
    }
  });

  it('below zero lights it so long before the last cut-off, whose time then follows', () => {
    for (const overlap_s of [0.5, 2, 8]) {
      const compiled = compileStudy(r1WithGap(-overlap_s));
      // All sixteen until the start command, three for the overlap.
      const start_s = (1_362_000 - 3 * ENGINE_kgps * overlap_s) / (16 * ENGINE_kgps);
      expect(plannedTime_s(compiled, 'ignition')).toBeCloseTo(start_s, 9);
      expect(plannedTime_s(compiled, 'partial-cutoff')).toBe(plannedTime_s(compiled, 'ignition'));
      expect(plannedTime_s(compiled, 'meco')).toBeCloseTo(start_s + overlap_s, 9);
      expect(compiled.plan.gaps[0]!.command_s).toBeCloseTo(-overlap_s, 9);
      const both = after(compiled, start_s);
      expect(both.thrust_N).toBeCloseTo(3 * 1.9e6, 3);
      expect(both.thrustRate_Nps).toBeCloseTo(3.75e6 / 1.2, 3);
    }
  });

  it('is counted between half-thrust points beside the commands, whatever the ramps', () => {
    const compiled = compileStudy(
      r1WithGap(4, ({ vehicle }) => {
        vehicle.bodies.booster!.engineGroups.main!.shutDown = { delay_s: 0.3, ramp_s: 1 };
        vehicle.bodies.upper!.engineGroups.main!.startUp = { delay_s: 0.5, ramp_s: 3 };
      }),
    );
    // 4 + (0.5 + 1.5) − (0.3 + 0.5).
    expect(compiled.plan.gaps[0]!.command_s).toBeCloseTo(4, 10);
    expect(compiled.plan.gaps[0]!.effective_s).toBeCloseTo(5.2, 9);
  });

  it('has no half-thrust points where the start is broken off before half', () => {
    const compiled = compileStudy(
      r1WithGap(0, (study) => {
        study.vehicle.bodies.upper!.engineGroups.main!.startUp = { delay_s: 0, ramp_s: 50 };
        event(study, 'seco').trigger = { kind: 'after', events: ['ignition'], delay_s: 10 };
      }),
    );
    expect(compiled.plan.gaps[0]!.command_s).toBeCloseTo(0, 12);
    expect(compiled.plan.gaps[0]!.effective_s).toBeNaN();
  });
});

describe('a lead', () => {
  const withLeads = (order: 'booster first' | 'upper first'): CompiledStudy =>
    compileStudy(
      r1((study) => {
        study.vehicle.bodies.upper!.engineGroups.main!.throttle = { least: 0.5, most: 1 };
        const booster = happening(
          'early',
          { kind: 'before', event: 'meco', lead_s: 10 },
          { kind: 'cut', body: 'booster', keep: 8 },
        );
        const upper = happening(
          'ease',
          { kind: 'before', event: 'seco', lead_s: 20 },
          { kind: 'throttle', body: 'upper', group: 'main', level: 0.6 },
        );
        study.sequence.events.unshift(...(order === 'booster first' ? [booster, upper] : [upper, booster]));
      }),
    );

  it('comes so long before an event whose time follows from it', () => {
    const compiled = withLeads('booster first');
    // Eight of sixteen engines for the last 10 s: the cut-off comes 5 s later than without.
    expect(plannedTime_s(compiled, 'meco')).toBeCloseTo(1_362_000 / (16 * ENGINE_kgps) + 5, 9);
    expect(plannedTime_s(compiled, 'meco') - plannedTime_s(compiled, 'early')).toBeCloseTo(10, 9);
    // 60 % for the last 20 s: 8 s later; the ramp costs half of itself.
    const burn_s = 458_000 / UPPER_kgps + 0.6 + 8;
    expect(plannedTime_s(compiled, 'seco') - plannedTime_s(compiled, 'ignition')).toBeCloseTo(burn_s, 9);
    expect(plannedTime_s(compiled, 'seco') - plannedTime_s(compiled, 'ease')).toBeCloseTo(20, 9);
  });

  it('is kept wherever it stands in the list', () => {
    const one = withLeads('booster first');
    const other = withLeads('upper first');
    for (const id of ['early', 'meco', 'ease', 'seco']) {
      expect(plannedTime_s(other, id)).toBeCloseTo(plannedTime_s(one, id), 9);
    }
  });

  it('before an event that only another lead brings about is kept', () => {
    // The ignition of an overlap is itself such a lead: without it there is no upper cut-off to come before.
    const compiled = compileStudy(
      r1WithGap(-2, (study) => {
        study.vehicle.bodies.upper!.engineGroups.main!.throttle = { least: 0.5, most: 1 };
        study.sequence.events.unshift(
          happening(
            'ease',
            { kind: 'before', event: 'seco', lead_s: 20 },
            { kind: 'throttle', body: 'upper', group: 'main', level: 0.6 },
          ),
        );
      }),
    );
    expect(plannedTime_s(compiled, 'seco') - plannedTime_s(compiled, 'ease')).toBeCloseTo(20, 9);
    expect(compiled.plan.gaps[0]!.command_s).toBeCloseTo(-2, 9);
  });

  it('on a lead counts from the same end', () => {
    const compiled = compileStudy(
      r1((study) => {
        study.sequence.events.unshift(
          happening(
            'first',
            { kind: 'before', event: 'second', lead_s: 6 },
            { kind: 'cut', body: 'booster', keep: 12 },
          ),
          happening(
            'second',
            { kind: 'before', event: 'meco', lead_s: 4 },
            { kind: 'cut', body: 'booster', keep: 4 },
          ),
        );
      }),
    );
    expect(plannedTime_s(compiled, 'meco') - plannedTime_s(compiled, 'first')).toBeCloseTo(10, 9);
    expect(plannedTime_s(compiled, 'meco') - plannedTime_s(compiled, 'second')).toBeCloseTo(4, 9);
    // 6 s with twelve and 4 s with four of sixteen: 1.5 s and 3 s lost.
    expect(plannedTime_s(compiled, 'meco')).toBeCloseTo(1_362_000 / (16 * ENGINE_kgps) + 4.5, 9);
  });
});

describe('a cut on propellant', () => {
  const slow = compileStudy(
    r1WithGap(3, ({ vehicle }) => {
      vehicle.bodies.booster!.engineGroups.main!.shutDown = { delay_s: 0.4, ramp_s: 2 };
      vehicle.bodies.upper!.engineGroups.main!.shutDown = { delay_s: 0.1, ramp_s: 0.8 };
    }),
  );

  it('comes early enough that its tail-off leaves the reserves, to the milligram', () => {
    expect(Math.abs(left_kg(slow, 'upper') - 12_000)).toBeLessThan(1e-6);
    // The booster's tail burns on after parting, on its own.
    expect(Math.abs(left_kg(slow, 'booster') - 118_000)).toBeLessThan(1e-6);
    // Delay and half the ramp at full flow are still to come at the command.
    expect(plannedTime_s(slow, 'meco')).toBeCloseTo(1_362_000 / (16 * ENGINE_kgps) - 1.4, 9);
  });

  it('ends the ascent when its tail-off is over', () => {
    expect(slow.plan.insertion_s).toBeCloseTo(plannedTime_s(slow, 'seco') + 0.9, 10);
    expect(slow.plan.firedAtEnd).toEqual([]);
    const last = slow.plan.segments.at(-1)!;
    expect(last.thrust_N + last.thrustRate_Nps * (last.end_s - last.start_s)).toBeCloseTo(0, 4);
  });

  it('without a tail-off is itself the end', () => {
    const compiled = compileStudy(r1());
    expect(compiled.plan.insertion_s).toBe(plannedTime_s(compiled, 'seco'));
    expect(compiled.plan.firedAtEnd).toEqual([
      compiled.study.sequence.events.findIndex((each) => each.id === 'seco'),
    ]);
  });

  it('may name a mass of its own', () => {
    const compiled = compileStudy(
      r1((study) => {
        event(study, 'meco').trigger = { kind: 'propellant', body: 'booster', left: { mass_kg: 300_000 } };
      }),
    );
    expect(Math.abs(left_kg(compiled, 'booster') - 300_000)).toBeLessThan(1e-6);
    expect(plannedTime_s(compiled, 'meco')).toBeCloseTo(1_180_000 / (16 * ENGINE_kgps), 9);
  });
});

describe('events at one instant', () => {
  it('happen in the order of the list', () => {
    const lit = (order: readonly ['cut' | 'light', 'cut' | 'light']): number => {
      const compiled = compileStudy(
        sounding({ kind: 'vertical' }, (study) => {
          study.vehicle.bodies.body!.engineGroups.main = engines({ count: 4 });
          const actions = {
            cut: happening('part-cut', { kind: 'time', time_s: 5 }, { kind: 'cut', body: 'body', keep: 1 }),
            light: happening(
              'all-on',
              { kind: 'time', time_s: 5 },
              { kind: 'light', body: 'body', group: 'main', engines: 2, throttle: 1 },
            ),
          };
          event(study, 'on').action = { kind: 'light', body: 'body', group: 'main', engines: 2, throttle: 1 };
          study.sequence.events.splice(3, 0, actions[order[0]], actions[order[1]]);
        }),
      );
      return after(compiled, 5).thrust_N / 3e5;
    };
    // Two burn. Cut to one, then two more: three. Two more, then cut to one: one.
    expect(lit(['cut', 'light'])).toBe(3);
    expect(lit(['light', 'cut'])).toBe(1);
  });

  it('that wait for an event further down the list still come with it', () => {
    const study = r1();
    const [separation] = study.sequence.events.splice(
      study.sequence.events.findIndex((each) => each.id === 'separation'),
      1,
    );
    study.sequence.events.unshift(separation!);
    const compiled = compileStudy(study);
    expect(plannedTime_s(compiled, 'separation')).toBe(plannedTime_s(compiled, 'meco'));
  });

  it('an event after several waits for the last of them', () => {
    for (const gap_s of [-4, 0, 6]) {
      const compiled = compileStudy(r1WithGap(gap_s));
      const last = Math.max(plannedTime_s(compiled, 'separation'), plannedTime_s(compiled, 'ignition'));
      expect(plannedTime_s(compiled, 'tangent')).toBe(last);
    }
  });
});

describe('the hold-down', () => {
  const held = compileStudy(
    r1((study) => {
      study.vehicle.bodies.booster!.engineGroups.main!.startUp = { delay_s: 0.5, ramp_s: 2 };
      event(study, 'booster-ignition').trigger = { kind: 'time', time_s: -4 };
    }),
  );

  it('keeps the vehicle on the pad while its engines come up, and burns propellant there', () => {
    const pad = held.plan.segments.filter((segment) => segment.held);
    expect(pad.map((segment) => [segment.start_s, segment.end_s])).toEqual([
      [-4, -3.5],
      [-3.5, -1.5],
      [-1.5, 0],
    ]);
    expect(held.plan.release_s).toBe(0);
    // Half of two seconds' ramp and 1.5 s at full flow.
    const burned = 2.5 * 16 * ENGINE_kgps;
    expect(held.plan.liftoffMass_kg).toBeCloseTo(2_130_000 - burned, 6);
    expect(plannedTime_s(held, 'meco')).toBeCloseTo(1_362_000 / (16 * ENGINE_kgps) - 2.5, 9);
    expect(held.plan.segments.find((segment) => !segment.held)!.thrust_N).toBeCloseTo(16 * 1.9e6, 3);
  });
});

describe('a command with nothing to act on', () => {
  it('is void: it has no time, its mates come about all the same', () => {
    const compiled = compileStudy(
      r1((study) => {
        study.sequence.events.splice(
          5,
          0,
          happening(
            'again',
            { kind: 'time', time_s: 30 },
            { kind: 'light', body: 'booster', group: 'main', throttle: 1 },
          ),
          happening(
            'same',
            { kind: 'time', time_s: 31 },
            { kind: 'throttle', body: 'booster', group: 'main', level: 1 },
          ),
          happening(
            'then',
            { kind: 'after', events: ['again'], delay_s: 2 },
            { kind: 'cut', body: 'booster', keep: 15 },
          ),
        );
      }),
    );
    expect(plannedTime_s(compiled, 'again')).toBeNaN();
    expect(plannedTime_s(compiled, 'same')).toBeNaN();
    expect(plannedTime_s(compiled, 'then')).toBe(32);
    const fired = compiled.plan.segments.flatMap((segment) => segment.fired);
    const names = fired.map((index) => compiled.study.sequence.events[index]!.id);
    expect(names).not.toContain('again');
    expect(names).toContain('then');
  });
});
