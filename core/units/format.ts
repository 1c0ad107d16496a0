/**
 * Quantities for people: fixed decimals, so that figures under each other line up; thousands by a narrow no-break space;
 * a true minus. Needs no unit parser. What a number must never show, NaN among it, throws: the caller has to say in words
 * what is not known.
 */

/** U+202F, between thousands and before the unit. */
const NARROW_SPACE = '\u202F';
/** U+2212. */
const MINUS = '\u2212';

interface Style {
  /** SI value of one unit shown. */
  readonly si: number;
  readonly unit: string;
  readonly decimals: number;
  /** Sign on positive values as well. */
  readonly signed?: true;
}

const STYLES = {
  height: { si: 1000, unit: 'km', decimals: 1 },
  distance: { si: 1000, unit: 'km', decimals: 1 },
  speed: { si: 1, unit: 'm/s', decimals: 0 },
  speedDifference: { si: 1, unit: 'm/s', decimals: 0, signed: true },
  thrust: { si: 1e6, unit: 'MN', decimals: 2 },
  acceleration: { si: 9.80665, unit: 'g', decimals: 2 },
  pressure: { si: 1000, unit: 'kPa', decimals: 1 },
  mass: { si: 1000, unit: 't', decimals: 2 },
  massDifference: { si: 1, unit: 'kg', decimals: 0, signed: true },
  massRate: { si: 1, unit: 'kg/s', decimals: 1, signed: true },
  angle: { si: Math.PI / 180, unit: '°', decimals: 2 },
  fraction: { si: 0.01, unit: '%', decimals: 0 },
  share: { si: 0.01, unit: '%', decimals: 2 },
  shareDifference: { si: 0.01, unit: '%', decimals: 2, signed: true },
  seconds: { si: 1, unit: 's', decimals: 1 },
  gap: { si: 1, unit: 's', decimals: 1, signed: true },
  mach: { si: 1, unit: '', decimals: 2 },
} as const satisfies Record<string, Style>;

/** What is shown: decides unit, decimals and whether a plus is written. */
export type Figure = keyof typeof STYLES;

/**
 * A quantity (SI, angles in radians, fractions of 1) as figure and unit, for layouts that set them differently. A
 * difference that rounds to zero has no sign. Throws RangeError for NaN and infinities.
 */
export function splitQuantity(value: number, as: Figure): { figure: string; unit: string } {
  const style: Style = STYLES[as];
  return { figure: formatNumber(value / style.si, style.decimals, style.signed === true), unit: style.unit };
}

/** As `splitQuantity`, joined by a narrow no-break space (none before °). SI, angles in radians, fractions of 1. */
export function formatQuantity(value: number, as: Figure): string {
  const { figure, unit } = splitQuantity(value, as);
  if (unit === '') return figure;
  return unit === '°' ? `${figure}${unit}` : `${figure}${NARROW_SPACE}${unit}`;
}

/**
 * A pure number with fixed decimals (0 to 20), thousands grouped from 1000 on, a true minus, and a plus where `signed`.
 * What rounds to zero has no sign. Dimensionless. Throws RangeError for NaN and infinities.
 */
export function formatNumber(value: number, decimals: number, signed = false): string {
  if (!Number.isFinite(value))
    throw new RangeError(`formatNumber: received ${value}, allowed is a finite number`);
  const [whole = '', fraction] = roundedText(Math.abs(value), decimals).split('.');
  const figure = `${whole.replace(/\B(?=(\d{3})+$)/g, NARROW_SPACE)}${fraction === undefined ? '' : `.${fraction}`}`;
  if (!/[1-9]/.test(figure)) return figure;
  if (value < 0) return `${MINUS}${figure}`;
  return signed ? `+${figure}` : figure;
}

/** `toFixed` turns to powers of ten from 1e21 on; no quantity here comes near, and one that does shows in full. */
function roundedText(value: number, decimals: number): string {
  return value < 1e21 ? value.toFixed(decimals) : BigInt(value).toString();
}

/**
 * A time (s) as m:ss, or as m:ss.s with one decimal; minutes are not turned into hours. Rounds first, so that 59.96 s is
 * 1:00.0. Throws RangeError for NaN and infinities.
 */
export function formatTime(time_s: number, decimals: 0 | 1 = 0): string {
  if (!Number.isFinite(time_s))
    throw new RangeError(`formatTime: received ${time_s}, allowed is a finite time in s`);
  const unit = 10 ** decimals;
  const ticks = Math.round(Math.abs(time_s) * unit);
  const minutes = Math.floor(ticks / (60 * unit));
  const seconds = ((ticks - minutes * 60 * unit) / unit)
    .toFixed(decimals)
    .padStart(decimals === 0 ? 2 : 4, '0');
  const figure = `${minutes}:${seconds}`;
  return time_s < 0 && ticks > 0 ? `${MINUS}${figure}` : figure;
}
