/** Published checks of the Earth: atmosphere, normal gravity, geodesics. */
import {
  GAS_CONSTANT_JpkmolK,
  MOLAR_MASS_SEA_LEVEL_kgpkmol,
  RADIUS_1976_m,
} from '../earth/atmosphere/us1976-data.ts';
import { Us1976Atmosphere } from '../earth/atmosphere/us1976.ts';
import { EARTH_ROTATION_radps } from '../constants/physical.ts';
import {
  cartesianToGeodetic,
  geocentricLatitude_rad,
  geodeticToCartesian,
  surfaceNormal,
} from '../earth/ellipsoid.ts';
import { geodesicBetween, geodesicFrom } from '../earth/geodesic.ts';
import { OBLATE_GRAVITY } from '../earth/gravity.ts';
import { outcome, Rows, type EvidenceOutcome } from './rows.ts';

interface Sourced {
  readonly source: string;
  readonly status: string;
}

export interface PublishedAtmosphere {
  readonly constants: Sourced & {
    readonly seaLevelDensity_kgpm3: string;
    readonly seaLevelSoundSpeed_mps: string;
  };
  readonly layerBases: Sourced & {
    readonly rows: readonly {
      geopotential_m: number;
      temperature_K: string;
      pressure_Pa: string;
      density_kgpm3: string;
    }[];
  };
  readonly geometricRows: Sourced & {
    readonly rows: readonly {
      height_m: number;
      temperature_K: string;
      pressure_Pa: string;
      density_kgpm3: string;
    }[];
  };
  readonly geopotentialRows: Sourced & {
    readonly rows: readonly {
      geopotential_m: number;
      molecularTemperature_K: string;
      pressure_Pa: string;
      density_kgpm3: string;
    }[];
  };
  readonly soundRows: Sourced & { readonly rows: readonly { height_m: number; soundSpeed_mps: string }[] };
  readonly upperRows: Sourced & { readonly rows: readonly UpperRow[] };
  readonly upperRowsFromMemory: Sourced & { readonly rows: readonly UpperRow[] };
  readonly upperTemperatures: Sourced & {
    readonly rows: readonly { height_m: number; temperature_K: string }[];
  };
}

interface UpperRow {
  readonly height_m: number;
  readonly density_kgpm3: string;
  readonly pressure_Pa?: string;
  readonly temperature_K?: string;
}

const CUT_OFF =
  'one unit of the last printed digit: the standard cut some of its digits off instead of rounding';
const UPPER_PRESSURE =
  'five digits are printed, but the standard summed its pressures from number densities integrated in 1976 with fewer: 5e-5 remain at 1000 km';

const airAt = (air: Us1976Atmosphere, height_m: number): Us1976Atmosphere => {
  // 1000 km is the end: by its piece, not by the vacuum above.
  air.evaluate(height_m, Math.min(air.pieceAt(height_m), air.pieceEdges_m.length - 1));
  return air;
};

/** The standard atmosphere from 0 to 86 km: temperature (K), pressure (Pa), density (kg/m³), speed of sound (m/s). */
export function checkLowerAtmosphere(published: PublishedAtmosphere): EvidenceOutcome {
  const air = new Us1976Atmosphere();
  const at = (height_m: number): Us1976Atmosphere => airAt(air, height_m);
  const geometric = (geopotential_m: number): number =>
    (RADIUS_1976_m * geopotential_m) / (RADIUS_1976_m - geopotential_m);
  const sea = new Rows(published.constants);
  sea.digits(
    'density at sea level',
    'kg/m³',
    at(0).density_kgpm3,
    published.constants.seaLevelDensity_kgpm3,
    CUT_OFF,
  );
  sea.digits(
    'speed of sound at sea level',
    'm/s',
    air.soundSpeed_mps,
    published.constants.seaLevelSoundSpeed_mps,
    CUT_OFF,
  );
  const all = [sea];
  const rows = (block: Sourced): Rows => {
    all.push(new Rows(block));
    return all[all.length - 1]!;
  };
  const compare = (
    into: Rows,
    where: string,
    height_m: number,
    row: { pressure_Pa: string; density_kgpm3: string },
  ): void => {
    at(height_m);
    into.digits(`pressure at ${where}`, 'Pa', air.pressure_Pa, row.pressure_Pa, CUT_OFF);
    into.digits(`density at ${where}`, 'kg/m³', air.density_kgpm3, row.density_kgpm3, CUT_OFF);
  };
  const bases = rows(published.layerBases);
  for (const row of published.layerBases.rows) {
    const where = `${row.geopotential_m / 1000} km geopotential`;
    compare(bases, where, geometric(row.geopotential_m), row);
    bases.digits(`temperature at ${where}`, 'K', air.temperature_K, row.temperature_K, CUT_OFF);
  }
  const heights = rows(published.geometricRows);
  for (const row of published.geometricRows.rows) {
    const where = `${row.height_m / 1000} km`;
    compare(heights, where, row.height_m, row);
    heights.digits(`temperature at ${where}`, 'K', air.temperature_K, row.temperature_K, CUT_OFF);
  }
  const potential = rows(published.geopotentialRows);
  const gas = GAS_CONSTANT_JpkmolK / MOLAR_MASS_SEA_LEVEL_kgpkmol;
  for (const row of published.geopotentialRows.rows) {
    const where = `${row.geopotential_m / 1000} km geopotential`;
    compare(potential, where, geometric(row.geopotential_m), row);
    const molecular = air.pressure_Pa / (air.density_kgpm3 * gas);
    potential.digits(
      `molecular-scale temperature at ${where}`,
      'K',
      molecular,
      row.molecularTemperature_K,
      CUT_OFF,
    );
  }
  const sound = rows(published.soundRows);
  for (const row of published.soundRows.rows) {
    const ours = at(row.height_m).soundSpeed_mps;
    sound.digits(`speed of sound at ${row.height_m / 1000} km`, 'm/s', ours, row.soundSpeed_mps, CUT_OFF);
  }
  return outcome(
    'atmosphere-lower',
    'U.S. Standard Atmosphere 1976, 0 to 86 km',
    'Printed rows at geometric and geopotential heights.',
    all.flatMap((each) => each.rows),
  );
}

/** The standard atmosphere from 86 to 1000 km: temperature (K), pressure (Pa), density (kg/m³). */
export function checkUpperAtmosphere(published: PublishedAtmosphere): EvidenceOutcome {
  const air = new Us1976Atmosphere();
  const all: Rows[] = [];
  for (const block of [published.upperRows, published.upperRowsFromMemory]) {
    const rows = new Rows(block);
    all.push(rows);
    for (const row of block.rows) {
      const where = `${row.height_m / 1000} km`;
      const here = airAt(air, row.height_m);
      rows.digits(`density at ${where}`, 'kg/m³', here.density_kgpm3, row.density_kgpm3, CUT_OFF);
      if (row.temperature_K !== undefined) {
        rows.digits(`temperature at ${where}`, 'K', here.temperature_K, row.temperature_K, CUT_OFF);
      }
      if (row.pressure_Pa !== undefined) {
        rows.compare({
          quantity: `pressure at ${where}`,
          unit: 'Pa',
          published: row.pressure_Pa,
          ours: here.pressure_Pa,
          tolerance: 6e-5 * Number(row.pressure_Pa),
          why: UPPER_PRESSURE,
        });
      }
    }
  }
  const temperatures = new Rows(published.upperTemperatures);
  all.push(temperatures);
  for (const row of published.upperTemperatures.rows) {
    const ours = airAt(air, row.height_m).temperature_K;
    temperatures.digits(`temperature at ${row.height_m / 1000} km`, 'K', ours, row.temperature_K, CUT_OFF);
  }
  return outcome(
    'atmosphere-upper',
    'U.S. Standard Atmosphere 1976, 86 to 1000 km',
    'Printed rows where the standard integrates number densities of single gases.',
    all.flatMap((each) => each.rows),
  );
}

export interface PublishedGeodesy {
  readonly normalGravity: Sourced & {
    readonly equator_mps2: number;
    readonly latitude45_mps2: number;
    readonly pole_mps2: number;
  };
  readonly geodetic: Sourced & {
    readonly position_km: readonly number[];
    readonly geodeticLatitude_deg: string;
    readonly geocentricLatitudeOfSurface_deg: string;
    readonly longitude_deg: string;
    readonly height_km: string;
  };
  /** lat1, lon1, azi1, lat2, lon2, azi2 in degrees, distance in m. */
  readonly geodesics: Sourced & { readonly rows: readonly (readonly number[])[] };
  readonly geodesicExamples: Sourced & {
    readonly inverse: GeodesicEnds & {
      readonly azi1_deg: string;
      readonly azi2_deg: string;
      readonly s12_m: string;
    };
    readonly direct: {
      readonly lat1_deg: number;
      readonly lon1_deg: number;
      readonly azi1_deg: number;
      readonly s12_m: number;
      readonly lat2_deg: string;
      readonly lon2_deg: string;
      readonly azi2_deg: string;
    };
  };
  readonly vincenty: Sourced &
    GeodesicEnds & {
      readonly s12_m: string;
      readonly azimuth1to2_dms: readonly number[];
      readonly azimuth2to1_dms: readonly number[];
    };
}

interface GeodesicEnds {
  readonly lat1_deg: number;
  readonly lon1_deg: number;
  readonly lat2_deg: number;
  readonly lon2_deg: number;
}

const RAD = Math.PI / 180;

/** Normal gravity on the ellipsoid (m/s²): attraction with J2 less the turning's part, along the ellipsoid's normal. */
export function checkNormalGravity({ normalGravity }: PublishedGeodesy): EvidenceOutcome {
  const rows = new Rows(normalGravity);
  const position = new Float64Array(3);
  const pull = new Float64Array(3);
  const up = new Float64Array(3);
  const cases = [
    // 5 J4 P4 g with J4 = -2.371e-6: what a field that ends with J2 leaves out.
    ['at the equator', 0, normalGravity.equator_mps2, 4.6e-5],
    ['at 45 degrees', 45, normalGravity.latitude45_mps2, 4.9e-5],
    ['at the pole', 90, normalGravity.pole_mps2, 1.3e-4],
  ] as const;
  for (const [where, latitude_deg, published, tolerance] of cases) {
    geodeticToCartesian(latitude_deg * RAD, 0, 0, position);
    surfaceNormal(latitude_deg * RAD, 0, up);
    const [x = 0, y = 0, z = 0] = position;
    OBLATE_GRAVITY.acceleration(x, y, z, pull);
    const spin2 = EARTH_ROTATION_radps * EARTH_ROTATION_radps;
    const ours = -((pull[0]! + spin2 * x) * up[0]! + (pull[1]! + spin2 * y) * up[1]! + pull[2]! * up[2]!);
    rows.compare({
      quantity: `normal gravity ${where}`,
      unit: 'm/s²',
      published,
      ours,
      tolerance,
      why: 'the size of the J4 term there, 5 J4 P4 g, which the field leaves out, and 5 % for J6',
    });
  }
  return outcome(
    'normal-gravity',
    'Normal gravity of WGS 84',
    'Attraction with J2 and the turning Earth together against Somigliana’s formula.',
    rows.rows,
  );
}

const turn = (a_deg: number, b_deg: number): number => {
  const difference = a_deg - b_deg;
  return b_deg + difference - 360 * Math.round(difference / 360);
};

/** Geodesics on the ellipsoid as inverse and direct problem, and geodetic coordinates; m and degrees. */
export function checkGeodesics(published: PublishedGeodesy): EvidenceOutcome {
  const rows = new Rows(published.geodesics);
  for (const row of published.geodesics.rows) {
    const [lat1 = 0, lon1 = 0, azi1 = 0, lat2 = 0, lon2 = 0, azi2 = 0, s12 = 0] = row;
    const path = geodesicBetween(lat1 * RAD, lon1 * RAD, lat2 * RAD, lon2 * RAD);
    const end = geodesicFrom(lat1 * RAD, lon1 * RAD, azi1 * RAD, s12);
    const from = `from ${lat1}, ${lon1}`;
    const add = (
      quantity: string,
      unit: string,
      theirs: number,
      ours: number,
      tolerance: number,
      why: string,
    ): void =>
      rows.compare({ quantity: `${quantity} ${from}`, unit, published: theirs, ours, tolerance, why });
    add('length', 'm', s12, path.distance_m, 2e-8, 'the algorithm’s own 15 nm');
    const angle = 'an azimuth moves by the rounding of its ends over the distance of the end from a meridian';
    add('azimuth at the start', '°', azi1, turn(path.startAzimuth_rad / RAD, azi1), 1e-12, angle);
    add('azimuth at the end', '°', azi2, turn(path.endAzimuth_rad / RAD, azi2), 1e-12, angle);
    const ulp = 'some units in the last place of a double, since radians stand in between';
    add('latitude of the end', '°', lat2, end.latitude_rad / RAD, 2e-13, ulp);
    add('longitude of the end', '°', lon2, turn(end.longitude_rad / RAD, lon2), 2e-13, ulp);
  }
  const { inverse, direct } = published.geodesicExamples;
  const examples = new Rows(published.geodesicExamples);
  const half = 'half a unit of the last printed digit';
  const there = geodesicBetween(
    inverse.lat1_deg * RAD,
    inverse.lon1_deg * RAD,
    inverse.lat2_deg * RAD,
    inverse.lon2_deg * RAD,
  );
  const end = geodesicFrom(direct.lat1_deg * RAD, direct.lon1_deg * RAD, direct.azi1_deg * RAD, direct.s12_m);
  examples.digits(
    'inverse example, azimuth at the start',
    '°',
    there.startAzimuth_rad / RAD,
    inverse.azi1_deg,
    half,
    0.5,
  );
  examples.digits(
    'inverse example, azimuth at the end',
    '°',
    there.endAzimuth_rad / RAD,
    inverse.azi2_deg,
    half,
    0.5,
  );
  examples.digits('inverse example, length', 'm', there.distance_m, inverse.s12_m, half, 0.5);
  examples.digits('direct example, latitude', '°', end.latitude_rad / RAD, direct.lat2_deg, half, 0.5);
  examples.digits('direct example, longitude', '°', end.longitude_rad / RAD, direct.lon2_deg, half, 0.5);
  examples.digits(
    'direct example, azimuth at the end',
    '°',
    end.azimuth_rad / RAD,
    direct.azi2_deg,
    half,
    0.5,
  );
  const line = published.vincenty;
  const classical = new Rows(line);
  const path = geodesicBetween(
    line.lat1_deg * RAD,
    line.lon1_deg * RAD,
    line.lat2_deg * RAD,
    line.lon2_deg * RAD,
  );
  classical.digits(
    'length of the classical test line',
    'm',
    path.distance_m,
    line.s12_m,
    'a millimetre: the last digit, and GRS 80 instead of WGS 84',
  );
  const degrees = (dms: readonly number[]): number => dms[0]! + dms[1]! / 60 + dms[2]! / 3600;
  const second = 'the last printed digit, 0.01 seconds of arc';
  const azimuth = (quantity: string, dms: readonly number[], ours_deg: number): void =>
    classical.compare({
      quantity,
      unit: '°',
      published: degrees(dms),
      ours: turn(ours_deg, degrees(dms)),
      tolerance: 0.01 / 3600,
      why: second,
    });
  azimuth('azimuth of the test line', line.azimuth1to2_dms, path.startAzimuth_rad / RAD);
  azimuth('azimuth of the test line, back', line.azimuth2to1_dms, path.endAzimuth_rad / RAD - 180);
  const place = published.geodetic;
  const geodetic = new Rows(place);
  const found = { latitude_rad: 0, longitude_rad: 0, height_m: 0 };
  const [x = 0, y = 0, z = 0] = place.position_km.map((value) => value * 1000);
  cartesianToGeodetic(x, y, z, found);
  const given = 'one unit of the last digit: the position is given to a metre';
  geodetic.digits(
    'geodetic latitude of a position',
    '°',
    found.latitude_rad / RAD,
    place.geodeticLatitude_deg,
    given,
  );
  geodetic.digits(
    'geocentric latitude of the surface below it',
    '°',
    geocentricLatitude_rad(found.latitude_rad, 0) / RAD,
    place.geocentricLatitudeOfSurface_deg,
    given,
  );
  geodetic.digits('longitude of a position', '°', found.longitude_rad / RAD, place.longitude_deg, given);
  geodetic.digits('height of a position', 'km', found.height_m / 1000, place.height_km, given);
  return outcome(
    'geodesics',
    'Geodesics and geodetic coordinates on WGS 84',
    'Test lines computed elsewhere to 15 nm, printed examples, a classical survey line.',
    [rows, examples, classical, geodetic].flatMap((each) => each.rows),
  );
}
