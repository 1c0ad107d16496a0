/**
 * Where the liquid of a tank is, as a history: how far its leading edge has come away from the settled place, integrated
 * from the sensed acceleration along the axis.
 *
 * Forward acceleration holds the liquid at the outlet or takes it back there; backward acceleration, beyond the critical
 * Bond number, takes it along the wall toward the other end. In both senses the edge moves at the published reorientation
 * speed, but off the bottom no faster than a free body would from where it let go. It stays between the settled place and
 * the top of the ullage. What is left out: slosh, the recoil of a tank when its engine stops, geysers and what drains.
 */
import { FLUIDS } from '../../constants/fluids.ts';
import type { TankFill } from '../../vehicle/tanks.ts';
import { bondNumber, CRITICAL_BOND, reorientationSpeed_mps } from './interface.ts';

/** Displacement (m) up to which a liquid counts as in place, in tank radii; chosen here, no source. */
const IN_PLACE_radii = 0.02;

export type SettlingState = 'settled' | 'moving' | 'unsettled';

export interface SettlingSample {
  readonly time_s: number;
  /** Sensed, along the axis toward the nose: positive holds the liquid down. */
  readonly acceleration_mps2: number;
  /** How far the leading edge has come away from its place, m. */
  readonly displaced_m: number;
  readonly bond: number;
  readonly state: SettlingState;
}

export interface TankHistory {
  readonly fill: TankFill;
  readonly samples: readonly SettlingSample[];
}

/**
 * The state of a tank's liquid: settled where it is in place and held by a forward acceleration beyond the critical Bond
 * number; moving where it is on its way back, or in place but held by nothing; unsettled otherwise. m, m/s², radius in m.
 */
function stateOf(
  displaced_m: number,
  acceleration_mps2: number,
  bond: number,
  radius_m: number,
): SettlingState {
  const inPlace = displaced_m <= IN_PLACE_radii * radius_m;
  const held = acceleration_mps2 > 0 && bond > CRITICAL_BOND;
  if (held) return inPlace ? 'settled' : 'moving';
  return inPlace ? 'moving' : 'unsettled';
}

/**
 * Integrates a tank from a settled start at the first time: sensed acceleration (m/s², forward positive) at even times (s,
 * ascending), by the midpoint of each span. Twice as many times must not change the answer; they are the caller's choice.
 */
export function followLiquid(
  fill: TankFill,
  times_s: ArrayLike<number>,
  acceleration_mps2: (t_s: number) => number,
): TankHistory {
  const { density_kgpm3, surfaceTension_Npm } = FLUIDS[fill.tank.fluid];
  const { radius_m } = fill.tank;
  const samples: SettlingSample[] = [];
  let displaced_m = 0;
  // Of a free body let go where the liquid last was in place.
  let free_mps = 0;
  for (let i = 0; i < times_s.length; i++) {
    const time_s = times_s[i]!;
    if (i > 0) {
      const h = time_s - times_s[i - 1]!;
      const a = acceleration_mps2(times_s[i - 1]! + 0.5 * h);
      const bond = bondNumber(density_kgpm3, a, radius_m, surfaceTension_Npm);
      const speed_mps = reorientationSpeed_mps(a, radius_m, bond);
      if (a < 0 && bond > CRITICAL_BOND) {
        const before_mps = free_mps;
        free_mps -= a * h;
        displaced_m += Math.min(speed_mps, 0.5 * (before_mps + free_mps)) * h;
      } else if (a > 0) {
        displaced_m -= speed_mps * h;
        free_mps = Math.max(0, free_mps - a * h);
      }
      displaced_m = Math.min(fill.ullage_m, Math.max(0, displaced_m));
      if (displaced_m === 0) free_mps = 0;
    }
    const a = acceleration_mps2(time_s);
    const bond = bondNumber(density_kgpm3, a, radius_m, surfaceTension_Npm);
    samples.push({
      time_s,
      acceleration_mps2: a,
      displaced_m,
      bond,
      state: stateOf(displaced_m, a, bond, radius_m),
    });
  }
  return { fill, samples };
}

/** The sample that holds at a time (s): the last at or before it. */
export function sampleAt(history: TankHistory, t_s: number): SettlingSample {
  let found = history.samples[0]!;
  for (const sample of history.samples) if (sample.time_s <= t_s + 1e-9) found = sample;
  return found;
}

/** From a time (s) on, when the tank is first settled; NaN when it is not within its history. */
export function settledFrom_s(history: TankHistory, t_s: number): number {
  return (
    history.samples.find(({ time_s, state }) => time_s >= t_s && state === 'settled')?.time_s ?? Number.NaN
  );
}
