/** Figures as the window writes them: fixed decimals, true minus, narrow no-break space in thousands. SI in. */

const THIN = '\u202f';
const MINUS = '\u2212';

/** A number with fixed decimals; a dash when it is none. */
export function fixed(value: number, decimals: number, signed = false): string {
  if (!Number.isFinite(value)) return '–';
  const size = Math.abs(value).toFixed(decimals);
  const [whole = '0', part] = size.split('.');
  const grouped = whole.length > 3 ? whole.replace(/\B(?=(\d{3})+$)/g, THIN) : whole;
  const zero = Number(size) === 0;
  const sign = zero ? '' : value < 0 ? MINUS : signed ? '+' : '';
  return `${sign}${grouped}${part === undefined ? '' : `.${part}`}`;
}

export const km = (value_m: number): string => fixed(value_m / 1000, 1);
export const mps = (value: number): string => fixed(value, 0);
export const MN = (value_N: number): string => fixed(value_N / 1e6, 2);
export const tonnes = (value_kg: number): string => fixed(value_kg / 1000, 2);
export const gees = (value_mps2: number): string => fixed(value_mps2 / 9.80665, 2);
export const kPa = (value_Pa: number): string => fixed(value_Pa / 1000, 1);
