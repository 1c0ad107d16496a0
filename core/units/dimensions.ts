/** The kinds of quantity that people type, and the units in which they are kept, shown as examples, and mistaken. */

export type Dimension =
  | 'length'
  | 'area'
  | 'volume'
  | 'mass'
  | 'time'
  | 'speed'
  | 'acceleration'
  | 'force'
  | 'pressure'
  | 'density'
  | 'massFlow'
  | 'stiffness'
  | 'angle'
  | 'turning'
  | 'gravitation'
  | 'heatFlux'
  | 'pressureAngle'
  | 'rate'
  | 'ratio';

export interface DimensionFacts {
  /** As it stands in a sentence: "a length". */
  readonly phrase: string;
  /** The SI unit, in the notation of the unit parser; empty for a pure number. */
  readonly si: string;
  /** Units that a sentence proposes. */
  readonly examples: readonly string[];
  /** What people write for a unit of this dimension where the unit parser takes the same letters for another. */
  readonly aliases?: Readonly<Record<string, string>>;
  /** Unit texts that could be meant in two ways, and the clause that says which to write instead. */
  readonly doubtful?: Readonly<Record<string, string>>;
}

const TON = '"ton" may be 1000 kg or 907 kg, so write t for the tonne or shortton for 2000 lb';

export const DIMENSIONS: Readonly<Record<Dimension, DimensionFacts>> = {
  length: {
    phrase: 'a length',
    si: 'm',
    examples: ['m', 'km', 'ft', 'mi', 'nmi'],
    doubtful: {
      nm: '"nm" is a nanometre, so write nmi for the nautical mile',
      NM: '"NM" is no unit of SI, so write nmi for the nautical mile',
    },
  },
  area: { phrase: 'an area', si: 'm^2', examples: ['m2', 'cm2', 'ft2', 'in2'] },
  volume: { phrase: 'a volume', si: 'm^3', examples: ['m3', 'L', 'ft3'] },
  mass: {
    phrase: 'a mass',
    si: 'kg',
    examples: ['kg', 't', 'lb', 'slug'],
    aliases: { klb: 'klbm', klbs: 'klbm' },
    doubtful: { ton: TON, tons: TON },
  },
  time: { phrase: 'a time', si: 's', examples: ['s', 'ms', 'min', 'h', 'm:ss'] },
  speed: {
    phrase: 'a speed',
    si: 'm/s',
    examples: ['m/s', 'km/s', 'km/h', 'ft/s', 'mph', 'kn'],
    aliases: { kt: 'kn', kts: 'kn', kph: 'km/h', fps: 'ft/s' },
  },
  acceleration: {
    phrase: 'an acceleration',
    si: 'm/s^2',
    examples: ['m/s2', 'g', 'ft/s2'],
    aliases: { g: 'gee', G: 'gee', g0: 'gee' },
  },
  force: {
    phrase: 'a force',
    si: 'N',
    examples: ['N', 'kN', 'MN', 'lbf', 'klbf', 'tf'],
    doubtful: {
      kg: '"kg" is a mass, so write kgf for the weight of one kilogram',
      t: '"t" is a mass, so write tf for the weight of one tonne',
      ton: '"ton" is a mass, so write tf for the weight of one tonne',
      lb: '"lb" is a mass here, so write lbf for the pound-force',
      lbs: '"lbs" is a mass here, so write lbf for the pound-force',
    },
  },
  pressure: {
    phrase: 'a pressure',
    si: 'Pa',
    examples: ['Pa', 'kPa', 'bar', 'atm', 'psi', 'psf'],
  },
  density: { phrase: 'a density', si: 'kg/m^3', examples: ['kg/m3', 'g/cm3', 'lb/ft3'] },
  massFlow: { phrase: 'a mass flow', si: 'kg/s', examples: ['kg/s', 't/s', 'lb/s'] },
  angle: { phrase: 'an angle', si: 'rad', examples: ['deg', '°', 'rad', 'arcmin'] },
  stiffness: { phrase: 'a spring rate', si: 'N/m', examples: ['N/m', 'kN/m', 'lbf/in'] },
  turning: { phrase: 'a turning rate', si: 'rad/s', examples: ['deg/s', 'rad/s'] },
  gravitation: { phrase: 'a gravitational parameter', si: 'm^3/s^2', examples: ['m3/s2', 'km3/s2'] },
  heatFlux: { phrase: 'a heat flux', si: 'W/m^2', examples: ['W/m2', 'kW/m2', 'W/cm2'] },
  pressureAngle: { phrase: 'a pressure times an angle', si: 'Pa rad', examples: ['Pa rad', 'kPa deg'] },
  rate: { phrase: 'a rate', si: 's^-1', examples: ['1/s', '1/min', 'Hz'] },
  ratio: { phrase: 'a number', si: '', examples: ['%', 'no unit'] },
};
