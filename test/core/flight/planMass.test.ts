import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import {
  compileStudy,
  PAYLOAD,
  recompile,
  startValues,
  type CompiledStudy,
} from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import type { Segment } from '../../../core/flight/planTypes.ts';
import { Worst } from '../earth/worst.ts';
import { event, happening, r1WithGap } from './studies.ts';

const G0 = 9.80665;
const between = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
/** Half of all engines come and go at once: those are the jumps. */
const shape = fc.oneof(
  fc.constant({ delay_s: 0, ramp_s: 0 }),
  fc.record({ delay_s: between(0, 1), ramp_s: between(0.01, 3) }),
);
const ingredients = fc.record({
  gap_s: between(-4, 20),
  holdDown_s: between(0, 5),
  boosterUp: shape,
  boosterDown: shape,
  upperUp: shape,
  upperDown: shape,
  keep: fc.integer({ min: 1, max: 15 }),
  lead_s: between(1, 15),
  easeAt_s: between(20, 90),
  ease: between(0.6, 1),
  residual_kg: between(0, 20_000),
  parting_s: between(0, 3),
});
type Ingredients = typeof ingredients extends fc.Arbitrary<infer T> ? T : never;

function make(of: Ingredients): Study {
  return r1WithGap(of.gap_s, (study) => {
    const { booster, upper } = study.vehicle.bodies as Record<
      'booster' | 'upper',
      Study['vehicle']['bodies'][string]
    >;
    booster.engineGroups.main!.startUp = of.boosterUp;
    booster.engineGroups.main!.shutDown = of.boosterDown;
    booster.engineGroups.main!.throttle = { least: 0.5, most: 1 };
    booster.propellant!.residual_kg = of.residual_kg;
    upper.engineGroups.main!.startUp = of.upperUp;
    upper.engineGroups.main!.shutDown = of.upperDown;
    event(study, 'booster-ignition').trigger = { kind: 'time', time_s: -of.holdDown_s };
    event(study, 'separation').trigger = { kind: 'after', events: ['meco'], delay_s: of.parting_s };
    study.sequence.events.splice(
      5,
      0,
      happening(
        'ease',
        { kind: 'time', time_s: of.easeAt_s },
        { kind: 'throttle', body: 'booster', group: 'main', level: of.ease },
      ),
      happening(
        'early',
        { kind: 'before', event: 'meco', lead_s: of.lead_s },
        { kind: 'cut', body: 'booster', keep: of.keep },
      ),
    );
  });
}

/** The atmosphere, which costs milliseconds, is made once. */
const base = compileStudy(r1WithGap(0));
const plan = (of: Ingredients): CompiledStudy => recompile(base, make(of));

const span = (segment: Segment): number => segment.end_s - segment.start_s;
const burned = (segment: Segment): number =>
  span(segment) * (segment.flow_kgps + 0.5 * span(segment) * segment.flowRate_kgps2);

function flights(compiled: CompiledStudy): (readonly Segment[])[] {
  return [compiled.plan.segments, ...compiled.plan.branches.map((branch) => branch.segments)];
}

/** Two thousand tonnes of propellant in doubles, added up over some thirty segments: 1e-8 kg at worst; 1e-6 asked for. */
const ROUNDING_kg = 1e-6;

describe('the masses of any plan', () => {
  it('are those of bodies, propellant and flows, from the pad to the last tail-off', () => {
    const sum = new Worst('mass against bodies and propellant', 'kg', ROUNDING_kg);
    const flow = new Worst('mass lost against the integral of flow', 'kg', ROUNDING_kg);
    const left = new Worst('propellant left against what is kept', 'kg', ROUNDING_kg);
    const impulse = new Worst('impulse against usable propellant', 'relative', 1e-11);
    fc.assert(
      fc.property(ingredients, (of) => {
        const compiled = plan(of);
        const { bodies } = compiled;
        for (const segments of flights(compiled)) {
          segments.forEach((segment, i) => {
            const parts = segment.bodies.map((b) => bodies[b]!.dry_kg + segment.propellant_kg[b]!);
            sum.add(i, parts.reduce((a, b) => a + b, 0) - segment.mass_kg);
            const next = segments[i + 1];
            if (next === undefined) return;
            expect(next.start_s).toBe(segment.end_s);
            // Two events a rounding error apart may have a span of nothing between them.
            expect(span(segment)).toBeGreaterThanOrEqual(0);
            // What has parted at the boundary takes its own mass with it.
            const gone = segment.bodies.filter((b) => !next.bodies.includes(b));
            const gone_kg = gone.reduce((a, b) => a + bodies[b]!.dry_kg + next.propellant_kg[b]!, 0);
            flow.add(i, segment.mass_kg - burned(segment) - gone_kg - next.mass_kg);
          });
        }
        for (const [body, { id, data, protected_kg }] of bodies.entries()) {
          const own = flights(compiled).flatMap((segments) =>
            segments.filter((each) => each.bodies.includes(body)),
          );
          const burns = own.flatMap((segment) =>
            segment.burns.filter((burn) => burn.body === body).map((burn) => ({ burn, h: span(segment) })),
          );
          const used = burns.reduce(
            (a, { burn, h }) => a + h * (burn.flow_kgps + 0.5 * h * burn.flowRate_kgps2),
            0,
          );
          const pushed = burns.reduce(
            (a, { burn, h }) => a + h * (burn.thrust_N + 0.5 * h * burn.thrustRate_Nps),
            0,
          );
          const { usable_kg } = data.propellant!;
          left.add(id, compiled.bodies[body]!.load_kg - used - protected_kg);
          impulse.add(id, pushed / (usable_kg * data.engineGroups.main!.ispVacuum_s * G0) - 1);
        }
      }),
      { seed: 7, numRuns: 60 },
    );
    sum.report();
    flow.report();
    left.report();
    impulse.report();
  });

  it('go with a thrust that jumps only where a command says so', () => {
    // Rounding: of 3e7 N that change at up to 3e9 N/s, over times good to 1e-13 s.
    const jump = new Worst('thrust across a boundary without events', 'N', 1e-2);
    const area = new Worst('exit area across a boundary without events', 'm²', 1e-9);
    fc.assert(
      fc.property(ingredients, (of) => {
        // The end of a ramp of no length would be a jump by itself, put off by its delay.
        const slowly = (each: Ingredients['boosterUp']): Ingredients['boosterUp'] =>
          each.ramp_s === 0 ? { delay_s: 0.1, ramp_s: 0.5 } : each;
        const compiled = plan({
          ...of,
          boosterUp: slowly(of.boosterUp),
          boosterDown: slowly(of.boosterDown),
          upperUp: slowly(of.upperUp),
          upperDown: slowly(of.upperDown),
        });
        for (const segments of flights(compiled)) {
          for (let i = 1; i < segments.length; i++) {
            const [before, now] = [segments[i - 1]!, segments[i]!];
            const end_N = before.thrust_N + span(before) * before.thrustRate_Nps;
            const end_m2 = before.exitArea_m2 + span(before) * before.exitAreaRate_m2ps;
            expect(now.thrust_N).toBeGreaterThan(-1e-3);
            expect(end_N).toBeGreaterThan(-1e-3);
            if (now.fired.length > 0) continue;
            jump.add(i, now.thrust_N - end_N);
            area.add(i, now.exitArea_m2 - end_m2);
          }
        }
      }),
      { seed: 8, numRuns: 60 },
    );
    jump.report();
    area.report();
  });

  it('are what the flight flies with, payload on top', () => {
    fc.assert(
      fc.property(ingredients, (of) => {
        const compiled = plan(of);
        const values = startValues(compiled);
        const record = recordFlight(compiled, values, { relative: 1e-6, position_m: 1, speed_mps: 1e-3 });
        // Random plans need not reach orbit; what is flown is what counts.
        for (const entry of record.log.filter((each) => each.track === 'main')) {
          const segment = compiled.plan.segments.filter((each) => each.start_s <= entry.time_s).at(-1)!;
          const tau = entry.time_s - segment.start_s;
          const planned = segment.mass_kg - tau * (segment.flow_kgps + 0.5 * tau * segment.flowRate_kgps2);
          if (entry.id === 'seco' || entry.id === 'insertion') continue;
          expect(Math.abs(entry.after.mass_kg - planned - values[PAYLOAD]!)).toBeLessThan(ROUNDING_kg);
        }
      }),
      { seed: 9, numRuns: 12 },
    );
  });
});
