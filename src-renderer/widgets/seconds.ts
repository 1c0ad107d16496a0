/** Seconds in a typed field. */
import { fixed } from '../../core/units/figures.ts';

/** A number of seconds as a field shows it: so many decimals at most, none that are zero. */
export function secondsText(value_s: number, decimals: number): string {
  return fixed(value_s, decimals).replace(/\.?0+$/, '');
}

/** What was typed, bare: with a plain minus and without the unit; the number is null when it is none from least to most. */
export function readSeconds(
  typed: string,
  least_s: number,
  most_s: number,
): { readonly text: string; readonly value_s: number | null } {
  const text = typed.trim().replace('\u2212', '-').replace(/\s*s$/, '');
  const value = Number(text);
  const wrong = text === '' || !Number.isFinite(value) || value < least_s || value > most_s;
  return { text, value_s: wrong ? null : value };
}
