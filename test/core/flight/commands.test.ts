import { describe, expect, it } from 'vitest';
import {
  burned_kg,
  cut,
  fullFlow_kgps,
  fullThrust_N,
  light,
  tailOff_kg,
  throttle,
  type Batch,
} from '../../../core/flight/commands.ts';
import { compileBodies } from '../../../core/vehicle/structure.ts';
import { engines, sounding } from './studies.ts';

const bodies = compileBodies(
  sounding({ kind: 'vertical' }, ({ vehicle }) => {
    vehicle.bodies.body!.engineGroups = {
      main: engines({ count: 9, shutDown: { delay_s: 0.2, ramp_s: 1 } }),
      side: engines({ count: 2, thrustVacuum_N: 1e5, ispVacuum_s: 250 }),
    };
  }).vehicle,
);
const order = (group: string, count?: number, level = 1) => ({
  body: 0,
  group,
  engines: count,
  throttle: level,
});
const burning = (batches: Batch[], t_s: number): number =>
  batches.reduce((sum, each) => sum + each.engines * each.transient.at(t_s), 0);

describe('lighting', () => {
  it('lights all engines of the group that do not burn, or so many of them', () => {
    const batches: Batch[] = [];
    expect(light(batches, bodies, order('main', 4), 0)).toHaveLength(1);
    expect(burning(batches, 1)).toBe(4);
    expect(light(batches, bodies, order('main', 8), 2)[0]!.engines).toBe(5);
    expect(burning(batches, 3)).toBe(9);
    expect(light(batches, bodies, order('main'), 4)).toEqual([]);
    expect(light(batches, bodies, order('side'), 4)[0]!.engines).toBe(2);
    expect(burning(batches, 5)).toBe(11);
  });

  it('has thrust and flow of engines times throttle', () => {
    const [batch] = light([], bodies, order('main', 3, 0.7), 0);
    expect(fullThrust_N(batch!, 0)).toBeCloseTo(3 * 0.7 * 3e5, 6);
    expect(fullFlow_kgps(batch!, 0)).toBeCloseTo((3 * 0.7 * 3e5) / (300 * 9.80665), 9);
  });
});

describe('cutting', () => {
  it('keeps so many engines and splits what burned together', () => {
    const batches: Batch[] = [];
    light(batches, bodies, order('main'), 0);
    const commanded = cut(batches, { body: 0, group: undefined, keep: 3 }, 10);
    expect(commanded.map((each) => each.engines)).toEqual([6]);
    expect(batches.map((each) => [each.engines, each.transient.lit])).toEqual([
      [3, true],
      [6, false],
    ]);
    // After the delay the six go down in a second.
    expect([10.1, 10.7, 11.2, 20].map((t) => burning(batches, t))).toEqual([9, expect.closeTo(6, 9), 3, 3]);
  });

  it('keeps so many of each group, or leaves other groups alone', () => {
    const both: Batch[] = [];
    light(both, bodies, order('main'), 0);
    light(both, bodies, order('side'), 0);
    cut(both, { body: 0, group: undefined, keep: 1 }, 5);
    expect(burning(both, 9)).toBe(2);
    const one: Batch[] = [];
    light(one, bodies, order('main'), 0);
    light(one, bodies, order('side'), 0);
    cut(one, { body: 0, group: 'side', keep: 0 }, 5);
    expect(burning(one, 9)).toBe(9);
  });

  it('of what does not burn is void', () => {
    const batches: Batch[] = [];
    expect(cut(batches, { body: 0, group: undefined, keep: 0 }, 1)).toEqual([]);
    light(batches, bodies, order('main', 2), 0);
    expect(cut(batches, { body: 0, group: 'main', keep: 2 }, 1)).toEqual([]);
    cut(batches, { body: 0, group: 'main', keep: 0 }, 1);
    expect(cut(batches, { body: 0, group: 'main', keep: 0 }, 1.1)).toEqual([]);
  });
});

describe('throttling', () => {
  it('sets burning engines of the group, once', () => {
    const batches: Batch[] = [];
    light(batches, bodies, order('main', 2), 0);
    light(batches, bodies, order('side'), 0);
    expect(throttle(batches, { body: 0, group: 'main', level: 0.6 }, 1)).toHaveLength(1);
    expect(throttle(batches, { body: 0, group: 'main', level: 0.6 }, 1)).toEqual([]);
    expect(batches.map((each) => each.throttle)).toEqual([0.6, 1]);
  });
});

describe('propellant', () => {
  it('is what flows, and what a cut now would still take', () => {
    const batches: Batch[] = [];
    light(batches, bodies, order('main', 4), 0);
    const flow = (4 * 3e5) / (300 * 9.80665);
    expect(burned_kg(batches, 0, 2, 12)).toBeCloseTo(10 * flow, 8);
    expect(burned_kg(batches, 1, 2, 12)).toBe(0);
    // 0.2 s of delay and half of 1 s.
    expect(tailOff_kg(batches, 0, 5)).toBeCloseTo(0.7 * flow, 8);
    cut(batches, { body: 0, group: 'main', keep: 0 }, 10);
    expect(tailOff_kg(batches, 0, 10)).toBeCloseTo(0.7 * flow, 8);
    expect(tailOff_kg(batches, 0, 10.7)).toBeCloseTo(0.125 * flow, 8);
    expect(burned_kg(batches, 0, 10, 20)).toBeCloseTo(0.7 * flow, 8);
    expect(tailOff_kg(batches, 0, 20)).toBe(0);
  });
});
