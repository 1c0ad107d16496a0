import { describe, expect, it } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { G0_mps2 } from '../../../core/constants/physical.ts';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { blunt, engines, event, happening, logged, plannedTime_s, r1, sounding } from './studies.ts';

const flow = (thrust_N: number, isp_s: number): number => thrust_N / (isp_s * G0_mps2);

describe('a shift of thrust and specific impulse', () => {
  const study = sounding({ kind: 'vertical' }, (s) => {
    s.sequence.events.push(
      happening(
        'mixture',
        { kind: 'time', time_s: 60 },
        { kind: 'shift', body: 'body', group: 'main', thrustVacuum_N: 2.4e5, ispVacuum_s: 320 },
      ),
    );
  });
  const compiled = compileStudy(study);

  it('burns the rest of the propellant at the new flow', () => {
    const rest_s = (14_000 - 60 * flow(3e5, 300)) / flow(2.4e5, 320);
    expect(plannedTime_s(compiled, 'off')).toBeCloseTo(60 + rest_s, 9);
  });

  it('gives the ideal velocity of the two burns by the rocket equation', () => {
    const record = recordFlight(compiled, startValues(compiled));
    const between = 20_000 - 60 * flow(3e5, 300);
    const ideal = 300 * G0_mps2 * Math.log(20_000 / between) + 320 * G0_mps2 * Math.log(between / 6000);
    // 1e-11 a step.
    expect(record.ledger!.ideal_mps).toBeCloseTo(ideal, 6);
    const { before, after } = logged(record, 'mixture');
    expect(before.thrust_N).toBeCloseTo(3e5, 5);
    expect(after.thrust_N).toBeCloseTo(2.4e5, 5);
  });

  it('holds for engines of the group lit later, and leaves other groups alone', () => {
    const two = compileStudy(
      sounding({ kind: 'vertical' }, (s) => {
        s.vehicle.bodies['body']!.engineGroups['main'] = engines({ count: 2, thrustVacuum_N: 1.5e5 });
        s.vehicle.bodies['body']!.engineGroups['side'] = engines({ thrustVacuum_N: 1.5e5 });
        event(s, 'on').action = { kind: 'light', body: 'body', group: 'main', engines: 1, throttle: 1 };
        s.sequence.events.push(
          happening(
            'aside',
            { kind: 'time', time_s: 0 },
            { kind: 'light', body: 'body', group: 'side', throttle: 1 },
          ),
          happening(
            'mixture',
            { kind: 'time', time_s: 20 },
            { kind: 'shift', body: 'body', group: 'main', thrustVacuum_N: 1e5, ispVacuum_s: 300 },
          ),
          happening(
            'more',
            { kind: 'time', time_s: 30 },
            { kind: 'light', body: 'body', group: 'main', throttle: 1 },
          ),
        );
      }),
    );
    const thrusts = two.plan.segments.map((segment) => segment.thrust_N);
    [3e5, 2.5e5, 3.5e5].forEach((thrust_N, i) => expect(thrusts[i]).toBeCloseTo(thrust_N, 6));
  });

  it('of engines that nothing lights is refused', () => {
    const spoilt = (): Study =>
      sounding({ kind: 'vertical' }, (s) => {
        s.vehicle.bodies['body']!.engineGroups['side'] = engines();
        s.sequence.events.push(
          happening(
            'mixture',
            { kind: 'time', time_s: 60 },
            { kind: 'shift', body: 'body', group: 'side', thrustVacuum_N: 2.4e5, ispVacuum_s: 320 },
          ),
        );
      });
    expect(spoilt).toThrow(/mixture\.action\.body: received "body", of which no event lights side/);
  });
});

describe('strap-ons under three stages, one pair lit in the air, fairing by heat flux', () => {
  // R1 with more on it: two pairs of strap-ons on the booster, and a third stage under the payload.
  const study = r1((s) => {
    const { bodies } = s.vehicle;
    for (const id of ['left', 'right', 'fore', 'aft']) {
      bodies[id] = {
        name: id,
        role: 'strapOn',
        ridesOn: 'booster',
        dryMass_kg: 9000,
        fittings: {},
        propellant: { usable_kg: 60_000, residual_kg: 500, flightReserve_kg: 0, returnReserve_kg: 0 },
        engineGroups: { main: engines({ thrustVacuum_N: 1.9e6, ispVacuum_s: 280, exitArea_m2: 1 }) },
      };
    }
    bodies['third'] = {
      name: 'third',
      role: 'upper',
      ridesOn: 'upper',
      dryMass_kg: 5000,
      fittings: {},
      propellant: { usable_kg: 40_000, residual_kg: 200, flightReserve_kg: 0, returnReserve_kg: 0 },
      engineGroups: { main: engines({ thrustVacuum_N: 4e5, ispVacuum_s: 440, exitArea_m2: 1 }) },
    };
    bodies['fairing'] = {
      name: 'fairing',
      role: 'fairing',
      ridesOn: 'third',
      dryMass_kg: 1500,
      fittings: {},
      engineGroups: {},
    };
    s.payload.ridesOn = 'third';
    const core = ['booster', 'upper', 'third', 'fairing'];
    s.vehicle.aerodynamics = [
      [...core, 'left', 'right', 'fore', 'aft'],
      [...core, 'right', 'fore', 'aft'],
      [...core, 'fore', 'aft'],
      [...core, 'aft'],
      core,
      ['upper', 'third', 'fairing'],
      ['upper', 'third'],
      ['third'],
      ...['booster', 'upper', 'fairing', 'left', 'right', 'fore', 'aft'].map((id) => [id]),
    ].map((own) => blunt(own, 0.3, own.includes('booster') ? 50 : 20));
    const on = (id: string, time_s: number): void => {
      s.sequence.events.push(
        happening(
          `${id}-on`,
          { kind: 'time', time_s },
          { kind: 'light', body: id, group: 'main', throttle: 1 },
        ),
        happening(
          `${id}-off`,
          { kind: 'propellant', body: id, left: 'reserves' },
          { kind: 'cut', body: id, keep: 0 },
        ),
      );
    };
    on('left', 0);
    on('right', 0);
    on('fore', 40);
    on('aft', 40);
    // Where the partings stand in the list says in which order they come.
    const partings = ['left', 'right', 'fore', 'aft'].map((id) =>
      happening(
        `${id}-away`,
        { kind: 'after', events: [`${id}-off`], delay_s: 1 },
        { kind: 'part', link: id },
      ),
    );
    s.sequence.events.splice(5, 0, ...partings);
    const seco = event(s, 'seco');
    s.sequence.events.push(
      happening('unveil', { kind: 'heatFlux', heatFlux_Wpm2: 1135 }, { kind: 'part', link: 'fairing' }),
      happening(
        'third-away',
        { kind: 'after', events: [seco.id], delay_s: 2 },
        { kind: 'part', link: 'third' },
      ),
      happening(
        'third-on',
        { kind: 'after', events: ['third-away'], delay_s: 1 },
        { kind: 'light', body: 'third', group: 'main', throttle: 1 },
      ),
      happening(
        'third-off',
        { kind: 'propellant', body: 'third', left: 'reserves' },
        { kind: 'cut', body: 'third', keep: 0 },
      ),
    );
    s.sequence.finalCutoff = 'third-off';
  });

  it('flies, every strap-on comes down by itself, and the pair lit later burns as long', () => {
    const compiled = compileStudy(study);
    const record = recordFlight(compiled, startValues(compiled));
    const burn_s = 60_000 / flow(1.9e6, 280);
    expect(logged(record, 'left-off').time_s).toBeCloseTo(burn_s, 8);
    expect(logged(record, 'fore-off').time_s).toBeCloseTo(40 + burn_s, 8);
    const { before, after } = logged(record, 'fore-on');
    expect(after.thrust_N - before.thrust_N).toBeGreaterThan(2 * 1.8e6);
    expect(after.thrust_N - before.thrust_N).toBeLessThan(2 * 1.9e6);
    for (const id of ['left', 'right', 'fore', 'aft']) {
      expect(record.tracks.find((track) => track.id === id)?.end, id).toBe('impact');
    }
    const unveil = logged(record, 'unveil');
    expect(unveil.before.mass_kg - unveil.after.mass_kg).toBeCloseTo(1500, 6);
  });
});
