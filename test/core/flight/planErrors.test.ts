import { describe, expect, it } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy } from '../../../core/flight/compile.ts';
import { MOST_MACH_NODES } from '../../../core/flight/motion.ts';
import { PlanError } from '../../../core/flight/planTypes.ts';
import { event, happening, r1, r1WithGap } from './studies.ts';

/** What a study is refused with; it need not have come through the loader, which would refuse some of these before. */
function refusal(change: (study: Study) => void, study: Study = r1()): PlanError {
  change(study);
  try {
    compileStudy(study);
  } catch (error) {
    if (error instanceof PlanError) return error;
    throw error;
  }
  throw new Error('the study was accepted');
}

function without(study: Study, id: string): void {
  study.sequence.events = study.sequence.events.filter((each) => each.id !== id);
}

describe('a sequence that cannot be flown is refused by path', () => {
  it.each<[string, string, RegExp, (study: Study) => void]>([
    [
      'when nothing starts it',
      'sequence.events',
      /no event has a "time" trigger/,
      (study) => {
        for (const each of study.sequence.events) {
          if (each.trigger.kind === 'time') each.trigger = { kind: 'after', events: ['seco'], delay_s: 0 };
        }
      },
    ],
    [
      'when nothing releases the vehicle',
      'sequence.events',
      /no event releases the vehicle/,
      (study) => {
        without(study, 'release');
        without(study, 'separation');
        event(study, 'tangent').trigger = { kind: 'after', events: ['ignition'], delay_s: 0 };
      },
    ],
    [
      'when it parts on the pad',
      'sequence.events.separation',
      /stands on the pad; release it first/,
      (study) => {
        event(study, 'separation').trigger = { kind: 'time', time_s: -1 };
      },
    ],
    [
      'when the final cut-off never comes about',
      'sequence.finalCutoff',
      /"seco" never comes about: after 148\.5 s no event is due/,
      (study) => {
        event(study, 'ignition').trigger = { kind: 'after', events: ['seco'], delay_s: 0 };
      },
    ],
    [
      'when a tank runs dry',
      'vehicle.bodies.booster.propellant',
      /runs dry before \d+\.\d s; a cut with a "propellant" trigger on "booster" must come earlier/,
      (study) => {
        event(study, 'meco').trigger = { kind: 'time', time_s: 200 };
      },
    ],
    [
      'when an arrangement has no drag',
      'vehicle.aerodynamics',
      /has no entry for the bodies upper flying together/,
      (study) => {
        study.vehicle.aerodynamics.splice(1, 1);
      },
    ],
    [
      'when a lead leads to nothing that exists',
      'sequence.events.ignition.trigger.cutoff',
      /received "mecco", allowed is the id of an event/,
      (study) => {
        event(study, 'ignition').trigger = { kind: 'gap', cutoff: 'mecco', gap_s: -1 };
      },
    ],
    [
      'when leads go round in a circle',
      'sequence.events.one.trigger',
      /go round in a circle/,
      (study) => {
        study.sequence.events.push(
          happening(
            'one',
            { kind: 'before', event: 'two', lead_s: 1 },
            { kind: 'cut', body: 'booster', keep: 8 },
          ),
          happening(
            'two',
            { kind: 'before', event: 'one', lead_s: 1 },
            { kind: 'cut', body: 'booster', keep: 4 },
          ),
        );
      },
    ],
    [
      'when a lead leads up to what never comes',
      'sequence.events.never',
      /its leads cannot be scheduled: it never comes about/,
      (study) => {
        study.sequence.events.push(
          happening(
            'early',
            { kind: 'before', event: 'never', lead_s: 5 },
            { kind: 'cut', body: 'booster', keep: 8 },
          ),
          happening(
            'never',
            { kind: 'propellant', body: 'booster', left: { mass_kg: 10 } },
            { kind: 'cut', body: 'booster', keep: 0 },
          ),
        );
      },
    ],
    [
      'when a lead reaches back before the start',
      'sequence.events.early.trigger',
      /comes 400\.000 s before "meco", which is 251\.\d+ s before anything starts; allowed is a shorter lead/,
      (study) => {
        study.sequence.events.splice(
          5,
          0,
          happening(
            'early',
            { kind: 'before', event: 'meco', lead_s: 400 },
            { kind: 'throttle', body: 'booster', group: 'main', level: 1 },
          ),
        );
      },
    ],
    [
      'when a drag table is longer than can be told apart',
      'vehicle.aerodynamics.0.dragCoefficient.mach',
      new RegExp(`received ${MOST_MACH_NODES + 1} Mach numbers, allowed is ${MOST_MACH_NODES}`),
      (study) => {
        const { dragCoefficient } = study.vehicle.aerodynamics[0]!;
        dragCoefficient.mach = Array.from({ length: MOST_MACH_NODES + 1 }, (_, i) => i / 100);
        dragCoefficient.value = dragCoefficient.mach.map(() => 0.3);
      },
    ],
  ])('%s', (_why, path, message, change) => {
    const error = refusal(change);
    expect(error.name).toBe('PlanError');
    expect(error.path).toBe(path);
    expect(error.message).toMatch(message);
    expect(error.message.startsWith(`${path}: `)).toBe(true);
  });

  it('when a burn would go into the residual, which never burns', () => {
    // 6.5 s later than its reserves ask for: 60 t of the 118 t that they hold, of which 100 t are now residual.
    const error = refusal((study) => {
      study.vehicle.bodies.booster!.propellant!.residual_kg = 100_000;
      study.vehicle.bodies.booster!.propellant!.returnReserve_kg = 18_000;
      event(study, 'meco').trigger = { kind: 'time', time_s: 155 };
    });
    expect(error.path).toBe('vehicle.bodies.booster.propellant');
    // A reserve may be burned when a clock says so.
    const study = r1();
    event(study, 'meco').trigger = { kind: 'time', time_s: 155 };
    expect(() => compileStudy(study)).not.toThrow();
  });

  it('also when only an overlap makes it so', () => {
    const study = r1WithGap(-60);
    study.vehicle.bodies.booster!.propellant!.usable_kg = 90_000;
    const error = refusal(() => undefined, study);
    expect(error.path).toMatch(/^sequence\.events\./);
  });
});
