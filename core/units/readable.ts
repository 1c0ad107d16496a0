/** A number of the study as people read it: in the multiple of its unit that keeps the figure short, and precise enough to be typed back. */
import type { Dimension } from './dimensions.ts';
import { formatNumber } from './format.ts';
import { unitOfKey } from './keys.ts';

/** Multiples in falling order: from `from` (SI, or degrees for angles) on, `unit` is so many of it. */
const MULTIPLES: Partial<Record<Dimension, readonly { from: number; size: number; unit: string }[]>> = {
  mass: [{ from: 1e4, size: 1e3, unit: 't' }],
  force: [
    { from: 1e6, size: 1e6, unit: 'MN' },
    { from: 1e3, size: 1e3, unit: 'kN' },
  ],
  length: [{ from: 1e4, size: 1e3, unit: 'km' }],
  pressure: [{ from: 1e3, size: 1e3, unit: 'kPa' }],
  area: [],
};

const SHOWN: Readonly<Record<string, string>> = {
  'm^2': 'm²',
  's^-1': '1/s',
  'kg/m^3': 'kg/m³',
  'm/s^2': 'm/s²',
  'm^3/s^2': 'm³/s²',
  'W/m^2': 'W/m²',
  deg: '°',
};

export interface Readable {
  readonly figure: string;
  /** Empty for a pure number. */
  readonly unit: string;
}

/** The multiple in which a number of about this size is read: `size` is how many of the key's unit one shown unit is. */
function multipleFor(path: string, value: number): { readonly size: number; readonly unit: string } {
  const { dimension, unit } = unitOfKey(path);
  const multiple = MULTIPLES[dimension]?.find(({ from }) => Math.abs(value) >= from);
  return { size: multiple?.size ?? 1, unit: multiple?.unit ?? SHOWN[unit] ?? unit };
}

/**
 * A value in the unit of its key (`dryMass_kg`: kg) as figure and unit, to 7 significant digits, without trailing zeros:
 * 4240000 at `thrust_N` is "4.24" "MN". Throws RangeError for NaN, infinities, and a key whose suffix is no unit.
 */
export function readable(path: string, value: number): Readable {
  const { size, unit } = multipleFor(path, value);
  const shown = value / size;
  // Digits before the point, or minus the zeros after it: 7 significant ones in all.
  const whole = shown === 0 ? 1 : Math.floor(Math.log10(Math.abs(shown))) + 1;
  const text = formatNumber(shown, Math.min(15, Math.max(0, 7 - whole)));
  return {
    figure: text.includes('.') ? text.replace(/\.?0+$/, '') : text,
    unit,
  };
}
