/** How the limits of a study fared in a solve, and in words. */
import { fixed, gees, km, kPa } from '../units/figures.ts';
import type { Limit, Reading } from './limits.ts';

/** A limit of an answer. SI; degrees nowhere. */
export interface LimitOutcome {
  readonly limit: Limit;
  /** Of the answer's flight: the greatest value, for an altitude the one at its event. */
  readonly value: number;
  /** Mission time at which that is, s. */
  readonly time_s: number;
  /** The limit holds the answer back. */
  readonly binds: boolean;
  /** What a unit (SI) more of the limit's value is worth, kg of payload or of what else the goal is; 0 unless it binds. */
  readonly worth_kg: number;
  /** What it is, how much and when: "dynamic pressure, 32.0 kPa at 71 s". */
  readonly words: string;
}

const NAMES = {
  dynamicPressure: 'dynamic pressure',
  pressureAngle: 'dynamic pressure times angle of attack',
  sensedAcceleration: 'sensed acceleration',
  heatFlux: 'heat flux',
  altitude: 'height',
} as const;

/** The quantity of a limit for people, such as "dynamic pressure". */
export function limitName({ kind }: Limit): string {
  return NAMES[kind];
}

/** A value of a limit's quantity (SI) for people, with its unit. */
export function limitFigure({ kind }: Limit, value: number): string {
  switch (kind) {
    case 'dynamicPressure':
      return `${kPa(value)} kPa`;
    case 'pressureAngle':
      return `${fixed((value * 180) / Math.PI / 1000, 2)} kPa°`;
    case 'sensedAcceleration':
      return `${gees(value)} g`;
    case 'heatFlux':
      return `${fixed(value, 0)} W/m²`;
    case 'altitude':
      return `${km(value)} km`;
  }
}

/** A reading in words: what, how much and when (mission time in s). */
export function readingWords({ limit, value, time_s }: Reading): string {
  return `${limitName(limit)}, ${limitFigure(limit, value)} at ${fixed(time_s, 0)} s`;
}
