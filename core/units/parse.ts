/** Quantities as people type them, to SI. Pure; needs the unit parser, so keep it out of hot paths. */
import { DIMENSIONS, type Dimension } from './dimensions.ts';
import { readNumber } from './numberText.ts';
import { unitFactor } from './unitTable.ts';

export type ParsedQuantity =
  | { readonly ok: true; readonly value: number }
  /** `sentence` says what was received and what is allowed. */
  | { readonly ok: false; readonly sentence: string };

const CLOCK = /^([+\-\u2212]?)(\d+):([0-5]\d(?:\.\d*)?)$/;

/**
 * Reads a quantity such as "3.2 MN", "210 nmi", "1 200 kg", "12 m/s²" or "2:28.5" into the SI unit of its dimension
 * (radians for angles). A bare number is in `bareUnit`, the SI unit when that is left out. What it cannot read it refuses
 * with one sentence: no number, an ambiguous comma, an unknown unit, one of another dimension, or one with two meanings.
 */
export function parseQuantity(text: string, dimension: Dimension, bareUnit?: string): ParsedQuantity {
  const { phrase, examples, si } = DIMENSIONS[dimension];
  const typed = text.trim();
  const allowed = `${phrase} such as "1 ${examples[0]!}" (${examples.join(', ')})`;
  const refuse = (reason: string): ParsedQuantity => ({
    ok: false,
    sentence: `received ${JSON.stringify(text)}, allowed is ${allowed}: ${reason}.`,
  });
  const clock = dimension === 'time' ? CLOCK.exec(typed) : null;
  if (clock !== null) {
    const [, sign, minutes, seconds] = clock;
    const value = Number(minutes) * 60 + Number(seconds);
    return { ok: true, value: sign === '-' || sign === '\u2212' ? -value : value };
  }
  const number = readNumber(typed);
  if (!number.ok) return refuse(number.reason);
  const unit = number.rest.trim();
  const factor = unit === '' ? bareFactor(bareUnit ?? si, si) : factorOf(unit, dimension);
  if (typeof factor === 'string') return refuse(factor);
  const value = number.value * factor;
  return Number.isFinite(value) ? { ok: true, value } : refuse('the number is too large');
}

/** Throws RangeError: which unit a bare number has is the caller's choice, not the typist's. */
function bareFactor(unit: string, si: string): number {
  const factor = factorFor(unit, si);
  if (factor !== undefined) return factor;
  throw new RangeError(`bareUnit: received "${unit}", allowed is a unit that measures the same as ${si}`);
}

function factorFor(unit: string, si: string): number | undefined {
  if (unit === si) return 1;
  if (si === '') return unit === '%' ? 0.01 : undefined;
  const found = unitFactor(unit, si);
  return found.kind === 'factor' ? found.factor : undefined;
}

/** The factor to SI, or the clause that says what is wrong. */
function factorOf(unit: string, dimension: Dimension): number | string {
  const { si, phrase, aliases = {}, doubtful = {} } = DIMENSIONS[dimension];
  if (Object.hasOwn(doubtful, unit)) return doubtful[unit]!;
  const plain = Object.hasOwn(aliases, unit) ? aliases[unit]! : plainUnit(unit);
  if (si === '') return factorFor(plain, si) ?? `${JSON.stringify(unit)} is a unit, and a number has none`;
  // A second number, as in "3 2 m", would be taken for a factor.
  if (!/^[A-Za-z(1]/.test(plain) || /^1(?!\/)/.test(plain)) {
    return `${JSON.stringify(unit)} is not a unit`;
  }
  const found = unitFactor(plain, si);
  if (found.kind === 'factor') return found.factor;
  return found.kind === 'unknown'
    ? `${JSON.stringify(unit)} is not a unit that is known here`
    : `${JSON.stringify(unit)} is a unit of something else than ${phrase}`;
}

/** Typographic notation to that of the unit parser: m/s² and m·s⁻², ft2, °. */
function plainUnit(unit: string): string {
  const superscripts = '⁰¹²³⁴⁵⁶⁷⁸⁹';
  return unit
    .replace(
      /[⁻⁰¹²³⁴-⁹]+/g,
      (power) =>
        `^${power.replaceAll('⁻', '-').replace(/[⁰¹²³⁴-⁹]/g, (digit) => String(superscripts.indexOf(digit)))}`,
    )
    .replace(/([A-Za-z])(\d)/g, '$1^$2')
    .replace(/[·⋅×]/g, '*')
    .replace(/\u2212/g, '-')
    .replace(/°/g, 'deg')
    .replace(/′/g, 'arcmin')
    .replace(/″/g, 'arcsec')
    .replace(/[µμ]/g, 'u');
}
