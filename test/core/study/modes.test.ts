import { describe, expect, it } from 'vitest';
import { compileBodies } from '../../../core/vehicle/structure.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { compileStudy } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { settlingBefore } from '../../../core/parting/settling/ignition.ts';
import { applyMode, modeMasses_kg } from '../../../core/study/applyMode.ts';
import { withGap } from '../../../core/study/gap.ts';
import { compareModes, ModesError, ownWay, type ModeRow } from '../../../core/study/modes.ts';
import { validateStudy } from '../../../core/contract/load.ts';
import { cold, once, study, type Name } from '../../assets/demos.ts';

/** The demos that name ways of staging. */
const STAGED = ['heavy', 'small'] as const;
const compared = once((name) => compareModes(study(name)));
const row = (name: Name, id: string): ModeRow => compared(name).rows.find((each) => each.id === id)!;

describe.each(STAGED)('the ways of staging of the demo "%s"', (name) => {
  it('are five, each with a payload, a verdict and its reason', () => {
    const { rows } = compared(name);
    expect(rows.map(({ id }) => id)).toEqual(['springs', 'pushers', 'settled', 'spin', 'hot']);
    for (const { payload_kg, reason, verdict } of rows) {
      expect(payload_kg).toBeGreaterThan(0);
      expect(reason).toMatch(/^[A-Z].*\.$/);
      expect(verdict).not.toBe('notSolved');
    }
  });

  it('are settled only where something holds the propellant', () => {
    expect(row(name, 'settled').settling!.state).toBe('settled');
    expect(row(name, 'hot').settling!.state).toBe('settled');
    expect(row(name, 'springs').verdict).toBe('doubtful');
    expect(row(name, 'springs').motor!.thrust_N).toBeGreaterThan(0);
    // Motors cost payload, and at most what they weigh: all of it leaves before the engine burns.
    const { cost_kg, propellant_kg } = row(name, 'springs').motor!;
    expect(cost_kg).toBeLessThan(propellant_kg);
  });

  it('are settled with the motors that they ask for', () => {
    for (const id of ['springs', 'pushers', 'spin']) {
      const { motor, gap_s, outcome, name: called } = row(name, id);
      const mode = study(name).stagingModes![id]!;
      const settling = {
        ...{ kind: 'settling' as const, name: 'motors', body: mode.link, mass_kg: 0, count: 1 },
        ...{ pitchRadius_m: 0, cant_deg: 0, ignitionDelay_s: 0, thrust_N: motor!.thrust_N },
        ...{ burn_s: motor!.burn_s, propellant_kg: motor!.propellant_kg },
      };
      const compiled = compileStudy(
        withGap(
          applyMode(study(name), { ...mode, mechanisms: { ...mode.mechanisms, settling } }),
          'ignition',
          gap_s,
        ),
      );
      const record = recordFlight(compiled, outcome!.values);
      expect(settlingBefore(compiled, record, mode.link, 'ignition')!.state, called).toBe('settled');
    }
  });

  it('carry what a study built by hand with the same gap and masses carries', () => {
    const mode = study(name).stagingModes!['pushers']!;
    const { gap_s, payload_kg } = row(name, 'pushers');
    const outcome = solvePayload(compileStudy(withGap(applyMode(study(name), mode), 'ignition', gap_s)));
    // Warm along the search for the gap against cold: the tolerance of the solves.
    expect(Math.abs(outcome.payload_kg - payload_kg)).toBeLessThan(0.01);
  });

  it('have the study itself as a row that carries what the study carries, and parts as its link would', () => {
    const own = ownWay(study(name))!;
    // Warm or cold: the tolerance of the solves.
    expect(Math.abs(own.payload_kg - cold(name).payload_kg)).toBeLessThan(0.01);
    console.log(`${name} as it is: ${own.payload_kg.toFixed(2)} kg, ${own.reason}`);
    expect(own.parting!.phase.code).toBe('clear');
    expect(own.settling).not.toBeNull();
    // Where its motors are held against it, both feel what the link gives.
    if (own.motor !== null) expect(Math.abs(own.motor.cost_kg)).toBeLessThan(own.motor.propellant_kg);
  });

  it('break even at the ring mass at which a solve carries as much', () => {
    const { breakEven } = compared(name);
    const other = row(name, breakEven!.other);
    const hot = structuredClone(study(name).stagingModes!['hot']!);
    const ring = Object.values(hot.mechanisms)[0]!;
    const own = applyMode(study(name), hot);
    const now_kg = modeMasses_kg(study(name), hot).get('booster')!;
    const booster = own.vehicle.bodies['booster']!;
    // Less ring is less dry mass on the body that carries it.
    const lighter = {
      ...own,
      vehicle: {
        ...own.vehicle,
        bodies: {
          ...own.vehicle.bodies,
          booster: { ...booster, dryMass_kg: booster.dryMass_kg + breakEven!.ring_kg - now_kg },
        },
      },
    };
    expect(ring.kind).toBe('ring');
    const outcome = solvePayload(compileStudy(withGap(lighter, 'ignition', row(name, 'hot').gap_s)));
    // Linear in the mass: the payload bends by some promille of the change.
    const change_kg = Math.abs(breakEven!.gain_kg);
    expect(Math.abs(outcome.payload_kg - other.payload_kg)).toBeLessThan(0.02 * change_kg + 0.02);
  });
});

describe('a way of staging applied to a study', () => {
  it('takes the old mechanisms and their fittings off and puts its own on', () => {
    const heavy = study('heavy');
    const dry = (of: typeof heavy): number => compileBodies(of.vehicle)[0]!.dry_kg;
    const cold = applyMode(heavy, heavy.stagingModes!['springs']!);
    expect(dry(cold)).toBe(dry(heavy) - 6200 + 1450 + 1100);
    expect(dry(applyMode(heavy, heavy.stagingModes!['hot']!))).toBe(dry(heavy));
    // Nothing of the given study has moved, and the new one is a study.
    expect(heavy.vehicle.bodies['booster']!.fittings['ring']!.mass_kg).toBe(6200);
    const { provenance: _gone, stagingModes: _modes, claims: _claims, ...rest } = cold;
    const checked = validateStudy(JSON.parse(JSON.stringify({ ...rest, provenance: {} })));
    expect(checked.ok ? [] : checked.problems).toEqual([]);
  });

  it('says that a study without any has none', () => {
    const { stagingModes: _gone, ...bare } = study('small');
    expect(() => compareModes(bare)).toThrow(ModesError);
  });
});
