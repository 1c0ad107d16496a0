/**
 * Bare figures for tables, labels and heads, whose unit stands in the heading or beside them: as `format.ts` writes them,
 * but a dash where there is no number, since a cell cannot stay out. SI goes in; the function's name is the unit shown.
 */
import { G0_mps2 } from '../constants/physical.ts';
import { formatNumber, formatTime } from './format.ts';

const NONE = '–';

/** A number with fixed decimals in the unit in which it comes, with a plus too where `signed`; a dash when it is none. */
export function fixed(value: number, decimals: number, signed = false): string {
  return Number.isFinite(value) ? formatNumber(value, decimals, signed) : NONE;
}

/** A length (m) in kilometres. */
export const km = (value_m: number): string => fixed(value_m / 1000, 1);
/** A speed in m/s. */
export const mps = (value: number): string => fixed(value, 0);
/** A force (N) in meganewtons. */
export const MN = (value_N: number): string => fixed(value_N / 1e6, 2);
/** A mass (kg) in tonnes. */
export const tonnes = (value_kg: number): string => fixed(value_kg / 1000, 2);
/** An acceleration (m/s²) in standard gravities. */
export const gees = (value_mps2: number): string => fixed(value_mps2 / G0_mps2, 2);
/** A pressure (Pa) in kilopascals. */
export const kPa = (value_Pa: number): string => fixed(value_Pa / 1000, 1);
/** A mission time (s) as m:ss.s; a dash when it is none. */
export const clock = (time_s: number): string => (Number.isFinite(time_s) ? formatTime(time_s, 1) : NONE);
