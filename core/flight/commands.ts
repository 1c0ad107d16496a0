/** What an action does to the engines of the bodies that fly together. */
import type { CompiledBody } from '../vehicle/structure.ts';
import type { EngineGroup } from '../contract/vehicle.ts';
import { G0_mps2 } from '../constants/physical.ts';
import { Transient } from '../vehicle/transient.ts';

/** Engines of one group that share one history of commands. */
export interface Batch {
  readonly body: number;
  readonly group: string;
  /** As it burns now: thrust and impulse may have been shifted. */
  engine: EngineGroup;
  engines: number;
  throttle: number;
  transient: Transient;
}

/** Vacuum thrust of a batch at full burning, N. */
export function fullThrust_N(batch: Batch): number {
  return batch.engines * batch.throttle * batch.engine.thrustVacuum_N;
}

/** Propellant flow of a batch at full burning, kg/s: thrust / (Isp g0). */
export function fullFlow_kgps(batch: Batch): number {
  return fullThrust_N(batch) / (batch.engine.ispVacuum_s * G0_mps2);
}

/**
 * Lights engines of a group at mission time t_s: so many, or all that do not burn. Returns the batches commanded;
 * empty when there was nothing to light. They burn as the data say, or as they have been shifted.
 */
export function light(
  batches: Batch[],
  bodies: readonly CompiledBody[],
  order: { body: number; group: string; engines: number | undefined; throttle: number },
  t_s: number,
  as?: EngineGroup,
): Batch[] {
  const engine = as ?? bodies[order.body]!.data.engineGroups[order.group]!;
  const burning = batches
    .filter((b) => b.body === order.body && b.group === order.group && b.transient.lit)
    .reduce((sum, b) => sum + b.engines, 0);
  const engines = Math.min(order.engines ?? engine.count, engine.count - burning);
  if (engines <= 0) return [];
  const transient = new Transient();
  transient.light(t_s, engine.startUp);
  const batch = {
    body: order.body,
    group: order.group,
    engine,
    engines,
    throttle: order.throttle,
    transient,
  };
  batches.push(batch);
  return [batch];
}

/**
 * Cuts a body's burning engines at mission time t_s, of one group or of all, all but `keep` a group. A batch that is
 * cut in part splits. Returns the batches commanded; empty when nothing burned.
 */
export function cut(
  batches: Batch[],
  order: { body: number; group: string | undefined; keep: number },
  t_s: number,
): Batch[] {
  const commanded: Batch[] = [];
  const lit = batches.filter(
    (b) => b.body === order.body && (order.group === undefined || b.group === order.group) && b.transient.lit,
  );
  for (const group of new Set(lit.map((b) => b.group))) {
    const own = lit.filter((b) => b.group === group);
    let toCut = own.reduce((sum, b) => sum + b.engines, 0) - order.keep;
    for (const batch of own) {
      if (toCut <= 0) break;
      let target = batch;
      if (batch.engines > toCut) {
        target = { ...batch, engines: toCut, transient: batch.transient.clone() };
        batch.engines -= toCut;
        batches.push(target);
      }
      target.transient.cut(t_s, batch.engine.shutDown);
      toCut -= target.engines;
      commanded.push(target);
    }
  }
  return commanded;
}

/** Sets the throttle of a group's burning engines (1 is rated). Returns the batches commanded. */
export function throttle(batches: Batch[], order: { body: number; group: string; level: number }): Batch[] {
  const commanded = batches.filter(
    (b) => b.body === order.body && b.group === order.group && b.transient.lit && b.throttle !== order.level,
  );
  for (const batch of commanded) batch.throttle = order.level;
  return commanded;
}

/**
 * Gives each engine of a group another vacuum thrust (N) and specific impulse (s), whether it burns or is tailing off, and
 * at once: a mixture shift takes a second or so and is not followed. Returns the batches changed.
 */
export function shift(
  batches: Batch[],
  order: { body: number; group: string; thrustVacuum_N: number; ispVacuum_s: number },
): Batch[] {
  const { body, group, thrustVacuum_N, ispVacuum_s } = order;
  const own = batches.filter((b) => b.body === body && b.group === group);
  for (const batch of own) batch.engine = { ...batch.engine, thrustVacuum_N, ispVacuum_s };
  return own;
}

/** Propellant that a body's engines would still take if all were cut at mission time t_s, kg. */
export function tailOff_kg(batches: readonly Batch[], body: number, t_s: number): number {
  let sum = 0;
  for (const batch of batches) {
    if (batch.body !== body) continue;
    let seconds: number;
    if (batch.transient.lit) {
      const { delay_s, ramp_s } = batch.engine.shutDown;
      const off_s = t_s + delay_s;
      seconds = batch.transient.integral_s(t_s, off_s) + 0.5 * ramp_s * batch.transient.at(off_s);
    } else {
      seconds = batch.transient.remaining_s(t_s);
    }
    if (seconds > 0) sum += fullFlow_kgps(batch) * seconds;
  }
  return sum;
}

/** Propellant that a body's engines take between two mission times as commanded now, kg. */
export function burned_kg(batches: readonly Batch[], body: number, from_s: number, to_s: number): number {
  let sum = 0;
  for (const batch of batches) {
    if (batch.body !== body) continue;
    const seconds = batch.transient.integral_s(from_s, to_s);
    if (seconds > 0) sum += fullFlow_kgps(batch) * seconds;
  }
  return sum;
}
