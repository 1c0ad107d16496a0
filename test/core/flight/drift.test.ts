import { describe, expect, it } from 'vitest';
import { G0_mps2 } from '../../../core/constants/physical.ts';
import type { SequenceEvent } from '../../../core/contract/sequence.ts';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { engines, event, happening, logged, plannedTime_s, sounding } from './studies.ts';

const flow = (thrust_N: number, isp_s: number): number => thrust_N / (isp_s * G0_mps2);

/** Thrust and impulse go from 300 kN and 300 s to 240 kN and 320 s between 20 s and 60 s. */
const drifting = (at_s = 20, over_s = 40): SequenceEvent =>
  happening(
    'drift',
    { kind: 'time', time_s: at_s },
    { kind: 'shift', body: 'body', group: 'main', thrustVacuum_N: 2.4e5, ispVacuum_s: 320, over_s },
  );

const study = (change: (s: Study) => void = () => undefined, own = drifting()): Study =>
  sounding({ kind: 'vertical' }, (s) => {
    s.sequence.events.push(own);
    change(s);
  });

describe('a shift that takes time', () => {
  const f0 = flow(3e5, 300);
  const f1 = flow(2.4e5, 320);
  const burned = 20 * f0 + 20 * (f0 + f1);

  it('burns the trapezium between the two flows, and runs dry when the rest says', () => {
    expect(plannedTime_s(compileStudy(study()), 'off')).toBeCloseTo(60 + (14_000 - burned) / f1, 8);
  });

  it('gives the ideal velocity of thrust over mass, both polynomials in time', () => {
    const compiled = compileStudy(study());
    const record = recordFlight(compiled, startValues(compiled));
    // Between 20 s and 60 s by Simpson's rule with 4000 intervals, whose error here is far below a micrometre a second.
    const n = 4000;
    const push = (k: number): number => {
      const t = (40 * k) / n;
      const mass = 20_000 - 20 * f0 - (t * f0 + (t * t * (f1 - f0)) / 80);
      return (3e5 - 6e4 * (t / 40)) / mass;
    };
    let sum = 0;
    for (let k = 0; k <= n; k++) sum += push(k) * (k === 0 || k === n ? 1 : k % 2 === 1 ? 4 : 2);
    const middle = (sum * 40) / n / 3;
    const before = 300 * G0_mps2 * Math.log(20_000 / (20_000 - 20 * f0));
    const after = 320 * G0_mps2 * Math.log((20_000 - burned) / 6000);
    // 1e-11 a step.
    expect(record.ledger!.ideal_mps).toBeCloseTo(before + middle + after, 6);
    expect(logged(record, 'drift').after.thrust_N).toBeCloseTo(3e5, 5);
  });

  it('stops where a cut finds it, and tails off from there', () => {
    const cutMidway = study((s) => {
      s.vehicle.bodies['body']!.engineGroups['main'] = engines({ shutDown: { delay_s: 0, ramp_s: 2 } });
      event(s, 'off').trigger = { kind: 'time', time_s: 40 };
    });
    const last = compileStudy(cutMidway).plan.segments.at(-1)!;
    expect(last.thrust_N).toBeCloseTo(2.7e5, 5);
    expect(last.thrustRate_Nps).toBeCloseTo(-1.35e5, 5);
    expect(last.flow_kgps).toBeCloseTo(0.5 * (f0 + f1), 8);
    expect(last.end_s - last.start_s).toBeCloseTo(2, 12);
  });

  it('finds a propellant level in the middle of it', () => {
    const level = study((s) => {
      event(s, 'off').trigger = { kind: 'propellant', body: 'body', left: { mass_kg: 10_000 } };
    });
    const t = plannedTime_s(compileStudy(level), 'off') - 20;
    expect(20 * f0 + t * f0 + (t * t * (f1 - f0)) / 80).toBeCloseTo(4000, 7);
  });

  it('is refused while the engines start up', () => {
    const early = (): unknown =>
      compileStudy(
        study((s) => {
          s.vehicle.bodies['body']!.engineGroups['main'] = engines({ startUp: { delay_s: 0, ramp_s: 30 } });
          event(s, 'release').trigger = { kind: 'time', time_s: 30 };
        }),
      );
    expect(early).toThrow(/drift\.action\.over_s: received 40 while "main" still starts up/);
  });
});
