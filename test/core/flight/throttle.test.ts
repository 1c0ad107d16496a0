/** Throttle schedules: changes that take time, against closed forms; and crossings that come back within one step. */
import { describe, expect, it } from 'vitest';
import { G0_mps2 } from '../../../core/constants/physical.ts';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { recordFlight, type FlightRecord } from '../../../core/flight/record.ts';
import { event, happening, logged, sounding } from './studies.ts';

const FLOW_kgps = 3e5 / (300 * G0_mps2);

/** 300 kN on 20 t, throttled from 1 to 0.4 within 30 s from 20 s on. */
function ramped(change: (study: Study) => void = () => undefined): Study {
  return sounding({ kind: 'vertical' }, (study) => {
    study.sequence.events.push(
      happening(
        'ramp',
        { kind: 'time', time_s: 20 },
        { kind: 'throttle', body: 'body', group: 'main', level: 0.4, over_s: 30 },
      ),
    );
    change(study);
  });
}

function fly(study: Study): FlightRecord {
  const compiled = compileStudy(study);
  return recordFlight(compiled, startValues(compiled));
}

describe('a throttle that changes over a time', () => {
  it('burns the mean of both ends meanwhile, and goes on at the new one', () => {
    const record = fly(ramped());
    // 20 s at full, 30 s at 0.7 on average, the rest at 0.4.
    const ends_s = 50 + (14_000 / FLOW_kgps - 20 - 21) / 0.4;
    expect(logged(record, 'off').time_s).toBeCloseTo(ends_s, 9);
    expect(logged(record, 'off').before.thrust_N).toBeCloseTo(1.2e5, 6);
    expect(Math.abs(record.ledger!.closure_mps)).toBeLessThan(1e-6);
  });

  it('is taken over where it stands by the next one', () => {
    const record = fly(
      ramped((study) => {
        study.sequence.events.push(
          happening(
            'up',
            { kind: 'time', time_s: 35 },
            { kind: 'throttle', body: 'body', group: 'main', level: 1, over_s: 10 },
          ),
        );
      }),
    );
    // Down to 0.7 after 15 s, up again within 10 s: means 0.85 and 0.85.
    expect(logged(record, 'up').before.thrust_N).toBeCloseTo(2.1e5, 6);
    expect(logged(record, 'up').after.thrust_N).toBeCloseTo(2.1e5, 6);
    expect(logged(record, 'off').time_s).toBeCloseTo(45 + 14_000 / FLOW_kgps - 20 - 25 * 0.85, 9);
  });

  it('stops where it stands in engines that are cut', () => {
    const record = fly(
      ramped((study) => {
        study.vehicle.bodies['body']!.engineGroups['main']!.shutDown = { delay_s: 1, ramp_s: 2 };
        event(study, 'off').trigger = { kind: 'time', time_s: 35 };
      }),
    );
    const cut = logged(record, 'off');
    expect(cut.after.thrust_N).toBeCloseTo(2.1e5, 6);
    expect(cut.before.mass_kg - logged(record, 'insertion').before.mass_kg).toBeCloseTo(
      0.7 * FLOW_kgps * 2,
      6,
    );
  });

  it('is refused while the engines still start up', () => {
    const study = ramped((own) => {
      own.vehicle.bodies['body']!.engineGroups['main']!.startUp = { delay_s: 0, ramp_s: 25 };
      event(own, 'release').trigger = { kind: 'time', time_s: 19 };
    });
    expect(() => compileStudy(study)).toThrow(/changes the throttle .* slowly while they still start up/);
  });

  it('is refused outside the range, with the range', () => {
    expect(() =>
      ramped((study) => (study.vehicle.bodies['body']!.engineGroups['main']!.throttle.least = 0.5)),
    ).toThrow(/level: received 0.4, allowed is a number from 0.5 to 1.5, the range of "main"/);
  });
});

describe('a quantity that rises and falls through a value within one step', () => {
  it('comes about at both places, by the parabola', () => {
    // Without air the vehicle rises, and all but coasts over its top; a step is tens of seconds long.
    const top = (below_m: number): FlightRecord =>
      fly(
        sounding({ kind: 'vertical' }, (study) => {
          study.vehicle.bodies['body']!.engineGroups['main']!.throttle.least = 0.05;
          event(study, 'off').trigger = { kind: 'time', time_s: 120 };
          const light = { kind: 'throttle', body: 'body', group: 'main' } as const;
          study.sequence.events.push(
            happening('top', { kind: 'verticalSpeed', passing: 'falling' }, { ...light, level: 0.0999 }),
            happening(
              'rising',
              { kind: 'altitude', height_m: height_m - below_m, passing: 'rising' },
              { ...light, level: 0.1001 },
            ),
            happening(
              'falling',
              { kind: 'altitude', height_m: height_m - below_m, passing: 'falling' },
              { ...light, level: 0.1002 },
            ),
          );
          // Less thrust than weight from here on; the events change it by next to nothing, so as to act at all.
          study.sequence.events.splice(
            3,
            0,
            happening('weak', { kind: 'time', time_s: 30 }, { ...light, level: 0.1 }),
          );
        }),
      );
    let height_m = 1e6;
    height_m = logged(top(0), 'top').height_m;
    for (const below_m of [1000, 1, 0.01]) {
      const record = top(below_m);
      const rising = logged(record, 'rising');
      const falling = logged(record, 'falling');
      expect(rising.height_m).toBeCloseTo(height_m - below_m, 4);
      expect(falling.height_m).toBeCloseTo(height_m - below_m, 4);
      expect(rising.time_s).toBeLessThan(falling.time_s);
    }
  });
});
