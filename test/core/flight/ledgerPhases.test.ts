import { describe, expect, it } from 'vitest';
import { G0_mps2 } from '../../../core/constants/physical.ts';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { ledgerByBurning } from '../../../core/flight/ledgerPhases.ts';
import { recordFlight, type FlightRecord } from '../../../core/flight/record.ts';
import type { Study } from '../../../core/contract/study.ts';
import { blunt, engines, event, happening, r1WithGap, sounding } from './studies.ts';

const TERMS = [
  'ideal_mps',
  'gravity_mps',
  'drag_mps',
  'backPressure_mps',
  'steering_mps',
  'centrifugal_mps',
] as const;

function fly(study: Study): FlightRecord {
  const compiled = compileStudy(study);
  return recordFlight(compiled, startValues(compiled));
}

describe('the ledger by phase and burning body', () => {
  it('adds up to the whole, term by term, with an overlap and with a coast', () => {
    for (const gap of [-2, 8]) {
      const { ledgerPhases, ledger } = fly(r1WithGap(gap));
      for (const term of TERMS) {
        const sum = ledgerPhases!.reduce((total, phase) => total + phase[term], 0);
        const byBurning = Object.values(ledgerByBurning(ledgerPhases!)).reduce(
          (total, each) => total + each[term],
          0,
        );
        // Rounding of sums of some thousand m/s.
        expect(Math.abs(sum - ledger![term])).toBeLessThan(1e-9);
        expect(Math.abs(byBurning - ledger![term])).toBeLessThan(1e-9);
      }
      for (const phase of ledgerPhases!) {
        const parts = Object.values(phase.idealOf_mps).reduce((total, part) => total + part, 0);
        expect(Math.abs(parts - phase.ideal_mps)).toBeLessThan(1e-9);
      }
      const names = Object.keys(ledgerByBurning(ledgerPhases!));
      expect(names).toEqual(gap < 0 ? ['booster', 'booster+upper', 'upper'] : ['booster', 'coast', 'upper']);
    }
  });

  it('gives each span the rocket equation between its events, without air', () => {
    const study = sounding({ kind: 'vertical' }, (own) => {
      own.sequence.events.push(
        happening(
          'down',
          { kind: 'time', time_s: 40 },
          { kind: 'throttle', body: 'body', group: 'main', level: 0.5 },
        ),
      );
    });
    const { ledgerPhases } = fly(study);
    expect(ledgerPhases!.map((phase) => phase.events)).toEqual([['on', 'release', 'steering'], ['down']]);
    const exhaust = 300 * G0_mps2;
    const after = 20_000 - (40 * 3e5) / exhaust;
    expect(ledgerPhases![0]!.ideal_mps).toBeCloseTo(exhaust * Math.log(20_000 / after), 6);
    expect(ledgerPhases![1]!.ideal_mps).toBeCloseTo(exhaust * Math.log(after / 6000), 6);
  });

  it('shares the ideal velocity of bodies that burn together by their thrust', () => {
    const study = sounding({ kind: 'vertical' }, (own) => {
      own.vehicle.bodies['side'] = {
        name: 'side',
        role: 'strapOn',
        ridesOn: 'body',
        dryMass_kg: 500,
        fittings: {},
        propellant: { usable_kg: 1000, residual_kg: 0, flightReserve_kg: 0, returnReserve_kg: 0 },
        engineGroups: { motor: engines({ thrustVacuum_N: 1e5 }) },
      };
      own.vehicle.aerodynamics = [blunt(['body', 'side']), blunt(['body']), blunt(['side'])];
      own.sequence.events.splice(
        1,
        0,
        happening(
          'side-on',
          { kind: 'time', time_s: 0 },
          { kind: 'light', body: 'side', group: 'motor', throttle: 1 },
        ),
      );
      own.sequence.events.push(
        happening(
          'side-off',
          { kind: 'propellant', body: 'side', left: 'reserves' },
          { kind: 'cut', body: 'side', keep: 0 },
        ),
        happening(
          'side-away',
          { kind: 'after', events: ['side-off'], delay_s: 0 },
          { kind: 'part', link: 'side' },
        ),
      );
      expect(event(own, 'on').action.kind).toBe('light');
    });
    const [first] = fly(study).ledgerPhases!;
    expect(first!.burning).toEqual(['body', 'side']);
    expect(first!.idealOf_mps['body']! / first!.idealOf_mps['side']!).toBeCloseTo(3, 12);
  });
});
