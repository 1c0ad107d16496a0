/**
 * The unit parser. Only the unit factories of mathjs are made, so that a bundle carries nothing of its expression
 * parser and matrices; and they are made when the first unit is read, since that takes some milliseconds.
 */
import { create, createUnitDependencies, unitDependencies } from 'mathjs';
import type { MathJsInstance } from 'mathjs';

type UnitMath = Pick<MathJsInstance, 'unit' | 'createUnit'>;

/** Units that mathjs lacks or rounds. Factors: NIST SP 811 (2008), appendix B, whose exact definitions are used. */
const UNITS: readonly (readonly [name: string, definition: string, aliases?: readonly string[]])[] = [
  // mathjs rounds these two; the pound-force is 0.45359237 kg times 9.80665 m/s² exactly.
  ['kip', '4448.2216152605 N', ['kips']],
  ['psi', '1 lbf/in^2'],
  ['klbf', '1000 lbf'],
  ['klbm', '1000 lbm'],
  ['tf', '9806.65 N'],
  ['shortton', '2000 lbm', ['shorttons']],
  ['slug', '1 lbf s^2/ft', ['slugs']],
  ['nmi', '1852 m'],
  ['kn', '1852 m/hour', ['knot', 'knots']],
  ['mph', '1 mi/hour'],
  ['gee', '9.80665 m/s^2', ['gees']],
  ['psf', '1 lbf/ft^2'],
  ['ksi', '1000 lbf/in^2'],
  // Conventional millimetre and inch of mercury, and 1/760 of an atmosphere.
  ['mmHg', '133.322387415 Pa', ['mmhg']],
  ['inHg', '3386.388640341 Pa'],
  ['torr', '0.00131578947368421052 atm'],
];

let table: UnitMath | undefined;

function units(): UnitMath {
  if (table !== undefined) return table;
  const math = create({
    unitDependencies: unitDependencies!,
    createUnitDependencies: createUnitDependencies!,
  });
  for (const [name, definition, aliases = []] of UNITS) {
    math.createUnit(name, { definition, aliases: [...aliases] }, { override: true });
  }
  table = math;
  return math;
}

export type UnitFactor =
  | { readonly kind: 'factor'; readonly factor: number }
  /** The text is no unit. */
  | { readonly kind: 'unknown' }
  /** A unit, but of something else. */
  | { readonly kind: 'otherDimension' };

/**
 * How many of the SI unit `si` one `unit` is; both in the notation of mathjs, such as `kg/m^3`. Proportional units only
 * (no temperatures). Factors are good to the last digit or two of a double.
 */
export function unitFactor(unit: string, si: string): UnitFactor {
  const math = units();
  let parsed;
  try {
    // The library has no unit "1/s", but it reads "1/s" as a quantity.
    parsed = math.unit(unit.startsWith('1') ? unit : `1 ${unit}`);
  } catch {
    // The library's way to say that there is no such unit.
    return { kind: 'unknown' };
  }
  if (!parsed.equalBase(math.unit(`1 ${si}`))) return { kind: 'otherDimension' };
  const factor = parsed.toNumber(si);
  return Number.isFinite(factor) && factor > 0 ? { kind: 'factor', factor } : { kind: 'unknown' };
}
