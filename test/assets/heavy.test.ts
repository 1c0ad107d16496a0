import { describe, expect, it } from 'vitest';
import type { CompiledStudy } from '../../core/flight/compile.ts';
import { cold, expectInNotes, figures, study } from './demos.ts';
import { entry, figuresOf, solved, withLighterUpper, withUpperThrust, type Solved } from './figures.ts';

describe('the heavy demo', () => {
  it('has fourteen booster engines, of which four burn through staging', () => {
    const { record, compiled } = cold('heavy');
    const groups = Object.values(study('heavy').vehicle.bodies['booster']!.engineGroups);
    expect(groups.reduce((sum, group) => sum + group.count, 0)).toBe(14);
    const burning = (t_s: number): number =>
      compiled.plan.segments
        .find((segment) => segment.start_s <= t_s && t_s < segment.end_s)!
        .burns.filter((burn) => compiled.bodies[burn.body]!.id === 'booster')
        .reduce((sum, burn) => sum + burn.engines, 0);
    expect(burning(entry(record, 'partial-cutoff').time_s - 1)).toBe(14);
    expect(burning(entry(record, 'ignition').time_s)).toBe(4);
    expect(entry(record, 'ignition').time_s).toBeLessThan(entry(record, 'meco').time_s);
    // The booster pushes no more when it is let go.
    expect(burning(entry(record, 'separation').time_s)).toBe(0);
  });

  it('does the same with its booster at every gap', () => {
    const { compiled, study: own } = cold('heavy');
    const before = (other: Solved | { compiled: CompiledStudy }): number[] =>
      ['partial-cutoff', 'meco', 'separation'].map((id) => {
        const index = own.sequence.events.findIndex((event) => event.id === id);
        return other.compiled.plan.eventTimes_s[index]!;
      });
    for (const gap of [-3, 0, 30]) {
      const other = before(solved(study('heavy'), gap));
      // Found to 1e-10 s by the plan.
      other.forEach((time, i) => expect(time).toBeCloseTo(before({ compiled })[i]!, 9));
    }
  });

  it('pays a large percentage because recovery leaves a small payload, not because a second costs more', () => {
    const now = figures('heavy');
    const lighter = figuresOf(withLighterUpper(study('heavy'), 18_000));
    // What is payload and what is stage does not matter to the flight, so the same to the tolerance of the solves.
    expect(Math.abs(lighter.payloadLoss_kgps / now.payloadLoss_kgps - 1)).toBeLessThan(1e-4);
    expect(lighter.payload_kg - now.payload_kg).toBeCloseTo(18_000 + 13_500, 0);
    expect(study('heavy').notes).toContain(`but ${lighter.payloadLoss_percentps.toFixed(3)} % instead of`);
    expect(now.worth_percentpmps).toBeGreaterThan(1.4 * figures('small').worth_percentpmps);
    expect(now.shareOfInsertion).toBeLessThan(0.7 * figures('small').shareOfInsertion);
  });

  it('loses hardly anything with a strong upper stage', () => {
    const stronger = figuresOf(withUpperThrust(study('heavy'), 1.25));
    const strong = figuresOf(withUpperThrust(study('heavy'), 1.6));
    expectInNotes('heavy', '1.25 times the thrust', stronger);
    expectInNotes('heavy', '1.6 times the thrust', strong);
    expect(stronger.velocityLoss_mpsps).toBeLessThan(0.8 * figures('heavy').velocityLoss_mpsps);
    expect(strong.velocityLoss_mpsps).toBeLessThan(0.3 * figures('heavy').velocityLoss_mpsps);
  });

  it('gains nothing by a longer overlap', () => {
    // "Flat between −3 and −1 s": within the payload of a hundredth of a second.
    const payloads = [-3, -1.5, -1].map((gap) => solved(study('heavy'), gap).payload_kg);
    expect(Math.max(...payloads) - Math.min(...payloads)).toBeLessThan(2);
  });

  it('carries as much as without its ring and a cold gap of some seven seconds', () => {
    expect(study('heavy').notes).toContain('as much as a cold gap of some 7 s');
    const bare = structuredClone(study('heavy'));
    bare.vehicle.bodies['booster']!.fittings = {};
    expect(solved(bare, 6).payload_kg).toBeGreaterThan(figures('heavy').payload_kg);
    expect(solved(bare, 9).payload_kg).toBeLessThan(figures('heavy').payload_kg);
  });
});
