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
  /** Share of that throttle that a limit leaves it. */
  held: number;
  transient: Transient;
  /** A change of thrust and flow under way toward `engine`; null when there is none. */
  drift: Drift | null;
}

/** Thrust and flow of one engine when a change that takes time began; from there linear to the new values. */
interface Drift {
  readonly start_s: number;
  readonly end_s: number;
  readonly thrust_N: number;
  readonly flow_kgps: number;
}

const flowOf_kgps = (engine: EngineGroup): number => engine.thrustVacuum_N / (engine.ispVacuum_s * G0_mps2);

/** Share of a change still to come at mission time t_s; 0 when there is none. */
function ahead(drift: Drift | null, t_s: number): number {
  return drift === null || t_s >= drift.end_s ? 0 : (drift.end_s - t_s) / (drift.end_s - drift.start_s);
}

/** Vacuum thrust of a batch at full burning at mission time t_s, N. */
export function fullThrust_N(batch: Batch, t_s: number): number {
  const { engine, drift } = batch;
  const left = ahead(drift, t_s);
  const change = left > 0 ? left * (drift!.thrust_N - engine.thrustVacuum_N) : 0;
  return batch.engines * batch.throttle * batch.held * (engine.thrustVacuum_N + change);
}

/** Propellant flow of a batch at full burning at mission time t_s, kg/s: thrust / (Isp g0), linear while it is shifted. */
export function fullFlow_kgps(batch: Batch, t_s: number): number {
  const { engine, drift } = batch;
  const left = ahead(drift, t_s);
  if (left > 0) {
    const flow = flowOf_kgps(engine);
    return batch.engines * batch.throttle * batch.held * (flow + left * (drift!.flow_kgps - flow));
  }
  return (
    (batch.engines * batch.throttle * batch.held * engine.thrustVacuum_N) / (engine.ispVacuum_s * G0_mps2)
  );
}

/** Rates of thrust (N/s) and flow (kg/s²) of a batch at full burning just after mission time t_s. */
export function fullRates(batch: Batch, t_s: number): { thrust_Nps: number; flow_kgps2: number } {
  const { engine, drift } = batch;
  if (drift === null || t_s >= drift.end_s) return { thrust_Nps: 0, flow_kgps2: 0 };
  const per_s = (batch.engines * batch.throttle * batch.held) / (drift.end_s - drift.start_s);
  return {
    thrust_Nps: per_s * (engine.thrustVacuum_N - drift.thrust_N),
    flow_kgps2: per_s * (flowOf_kgps(engine) - drift.flow_kgps),
  };
}

/** The next mission time after t_s at which the rate of a batch's thrust jumps; +Infinity when there is none. Seconds. */
export function nextBreak_s(batch: Batch, t_s: number): number {
  const own = batch.transient.nextBreak_s(t_s);
  return batch.drift !== null && batch.drift.end_s > t_s ? Math.min(own, batch.drift.end_s) : own;
}

/** Whether a batch burns fully and evenly, neither coming up nor going down, from mission time t_s (s) on. */
export function burnsFully(batch: Batch, t_s: number): boolean {
  const { transient } = batch;
  return transient.lit && transient.at(t_s) === 1 && nextBreak_s(batch, t_s) === Number.POSITIVE_INFINITY;
}

/** The engine as it burns at mission time t_s, a change under way broken off there. */
function frozen(batch: Batch, t_s: number): EngineGroup {
  const { engine, drift } = batch;
  if (ahead(drift, t_s) === 0) return engine;
  const one = { ...batch, engines: 1, throttle: 1, held: 1 };
  const thrustVacuum_N = fullThrust_N(one, t_s);
  return { ...engine, thrustVacuum_N, ispVacuum_s: thrustVacuum_N / (fullFlow_kgps(one, t_s) * G0_mps2) };
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
    held: 1,
    transient,
    drift: null,
  };
  batches.push(batch);
  return [batch];
}

/**
 * Cuts a body's burning engines at mission time t_s, of one group or of all, all but `keep` a group. A batch that is
 * cut in part splits, and a shift under way stops in what is cut. Returns the batches commanded; empty when nothing burned.
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
      target.engine = frozen(target, t_s);
      target.drift = null;
      target.transient.cut(t_s, batch.engine.shutDown);
      toCut -= target.engines;
      commanded.push(target);
    }
  }
  return commanded;
}

/**
 * Sets the throttle of a group's burning engines (1 is rated) from mission time t_s on: at once, or with thrust and flow linear
 * in time over `over_s` (s). Returns the batches commanded, or null, with nothing changed, when one that would change slowly
 * is still starting up: thrust would then not be linear in time. A cut stops a change where it stands.
 */
export function throttle(
  batches: Batch[],
  order: { body: number; group: string; level: number; over_s?: number | undefined },
  t_s: number,
): Batch[] | null {
  const { level, over_s = 0 } = order;
  const commanded = batches.filter(
    (b) => b.body === order.body && b.group === order.group && b.transient.lit && b.throttle !== level,
  );
  if (over_s > 0 && commanded.some((b) => b.transient.nextBreak_s(t_s) !== Infinity)) return null;
  for (const batch of commanded) {
    if (over_s > 0) {
      const now = frozen(batch, t_s);
      const share = batch.throttle / level;
      batch.drift = {
        start_s: t_s,
        end_s: t_s + over_s,
        thrust_N: share * now.thrustVacuum_N,
        flow_kgps: share * flowOf_kgps(now),
      };
    }
    batch.throttle = level;
  }
  return commanded;
}

/**
 * Gives each engine of a group another vacuum thrust (N) and specific impulse (s) from mission time t_s on: at once, whether
 * it burns or is tailing off, or, of those that burn, with thrust and flow linear in time over `over_s` (s). Returns the
 * batches changed, or null, with nothing changed, when one that would change slowly is still starting up: thrust would then
 * not be linear in time.
 */
export function shift(
  batches: Batch[],
  order: {
    body: number;
    group: string;
    thrustVacuum_N: number;
    ispVacuum_s: number;
    over_s?: number | undefined;
  },
  t_s: number,
): Batch[] | null {
  const { body, group, thrustVacuum_N, ispVacuum_s, over_s = 0 } = order;
  const own = batches.filter(
    (b) => b.body === body && b.group === group && (over_s === 0 || b.transient.lit),
  );
  if (over_s > 0 && own.some((b) => b.transient.nextBreak_s(t_s) !== Infinity)) return null;
  for (const batch of own) {
    const now = frozen(batch, t_s);
    batch.drift =
      over_s === 0
        ? null
        : {
            start_s: t_s,
            end_s: t_s + over_s,
            thrust_N: now.thrustVacuum_N,
            flow_kgps: flowOf_kgps(now),
          };
    batch.engine = { ...batch.engine, thrustVacuum_N, ispVacuum_s };
  }
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
    if (seconds > 0) sum += fullFlow_kgps(batch, t_s) * seconds;
  }
  return sum;
}

/** Propellant that a body's engines take between two mission times with no break between, as commanded now, kg. */
export function burned_kg(batches: readonly Batch[], body: number, from_s: number, to_s: number): number {
  let sum = 0;
  for (const batch of batches) {
    if (batch.body !== body) continue;
    const seconds = batch.transient.integral_s(from_s, to_s);
    // While flow is shifted the burning fraction stands still, so the mean is that of the middle.
    if (seconds > 0) sum += fullFlow_kgps(batch, 0.5 * (from_s + to_s)) * seconds;
  }
  return sum;
}
