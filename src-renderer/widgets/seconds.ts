/** Seconds in a typed field. */
import { fixed } from '../../core/units/figures.ts';

/** A number of seconds as a field shows it: so many decimals at most, none that are zero. */
export function secondsText(value_s: number, decimals: number): string {
  return fixed(value_s, decimals).replace(/\.?0+$/, '');
}

/** What was typed, bare: with a plain minus and without its unit; the number is null when it is none from least to most. */
export function readNumber(
  typed: string,
  unit: string,
  least: number,
  most: number,
): { readonly text: string; readonly value: number | null } {
  const plain = typed.trim().replace('\u2212', '-');
  const text = plain.endsWith(unit) ? plain.slice(0, plain.length - unit.length).trim() : plain;
  const value = Number(text);
  const wrong = text === '' || !Number.isFinite(value) || value < least || value > most;
  return { text, value: wrong ? null : value };
}
