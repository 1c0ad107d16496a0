/** Kilograms of very different size in one column. */
import { formatNumber } from '../../core/units/format.ts';

/** A mass (kg) with its sign to three digits; a dash where there is none. */
export function massWords(mass_kg: number): string {
  if (!Number.isFinite(mass_kg)) return '–';
  const size = Math.abs(mass_kg);
  const decimals = size === 0 ? 0 : Math.min(6, Math.max(0, 2 - Math.floor(Math.log10(size))));
  return formatNumber(mass_kg, decimals, true);
}
