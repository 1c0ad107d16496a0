/** Which quantity and unit a key of a study holds: its name ends in the unit. */
import type { Dimension } from './dimensions.ts';

export interface KeyUnit {
  readonly dimension: Dimension;
  /** In the notation of the unit parser; empty for a pure number. */
  readonly unit: string;
  /** SI value of one such unit (radians for degrees). */
  readonly toSi: number;
}

const SUFFIXES: Readonly<Record<string, KeyUnit>> = {
  kg: { dimension: 'mass', unit: 'kg', toSi: 1 },
  m: { dimension: 'length', unit: 'm', toSi: 1 },
  m2: { dimension: 'area', unit: 'm^2', toSi: 1 },
  m3: { dimension: 'volume', unit: 'm^3', toSi: 1 },
  s: { dimension: 'time', unit: 's', toSi: 1 },
  per_s: { dimension: 'rate', unit: 's^-1', toSi: 1 },
  per_rad: { dimension: 'ratio', unit: '', toSi: 1 },
  mps: { dimension: 'speed', unit: 'm/s', toSi: 1 },
  N: { dimension: 'force', unit: 'N', toSi: 1 },
  Pa: { dimension: 'pressure', unit: 'Pa', toSi: 1 },
  kgpm3: { dimension: 'density', unit: 'kg/m^3', toSi: 1 },
  kgps: { dimension: 'massFlow', unit: 'kg/s', toSi: 1 },
  mps2: { dimension: 'acceleration', unit: 'm/s^2', toSi: 1 },
  Npm: { dimension: 'stiffness', unit: 'N/m', toSi: 1 },
  radps: { dimension: 'turning', unit: 'rad/s', toSi: 1 },
  m3ps2: { dimension: 'gravitation', unit: 'm^3/s^2', toSi: 1 },
  Wpm2: { dimension: 'heatFlux', unit: 'W/m^2', toSi: 1 },
  Parad: { dimension: 'pressureAngle', unit: 'Pa rad', toSi: 1 },
  degps: { dimension: 'turning', unit: 'deg/s', toSi: Math.PI / 180 },
  deg: { dimension: 'angle', unit: 'deg', toSi: Math.PI / 180 },
};

const PURE: KeyUnit = { dimension: 'ratio', unit: '', toSi: 1 };

/**
 * The unit of a key or of a dotted path that ends in one: `dryMass_kg` is a mass in kg, `b_per_s` a rate in 1/s. A key
 * without a unit, such as `count`, holds a pure number. Throws RangeError for a suffix that is no known unit.
 */
export function unitOfKey(path: string): KeyUnit {
  const key = path.slice(path.lastIndexOf('.') + 1);
  const at = key.indexOf('_');
  if (at < 0) return PURE;
  const suffix = key.slice(at + 1);
  const known = Object.hasOwn(SUFFIXES, suffix) ? SUFFIXES[suffix] : undefined;
  if (known !== undefined) return known;
  throw new RangeError(
    `${path}: received the unit "${suffix}", allowed is one of ${Object.keys(SUFFIXES).join(', ')}`,
  );
}
