/** Published checks of orbital mechanics: elements, speeds, transfers, motion in time. */
import { EARTH_EQUATORIAL_RADIUS_m } from '../constants/physical.ts';
import { sphereFigure } from '../earth/figure.ts';
import { localBasis, velocityAngles } from '../earth/frames.ts';

import { propagateKepler } from '../earth/kepler.ts';
import {
  circularSpeed_mps,
  orbitFromState,
  orbitalPeriod_s,
  orbitalSpeed_mps,
  stateFromElements,
} from '../earth/orbit.ts';
import { outcome, Rows, type EvidenceOutcome } from './rows.ts';

interface Sourced {
  readonly source: string;
  readonly status: string;
}
interface Vectors extends Sourced {
  readonly gm_km3ps2: number;
  readonly position_km: readonly number[];
  readonly velocity_kmps: readonly number[];
}

export interface PublishedOrbits {
  readonly vallado25: Vectors & {
    readonly semiLatusRectum_km: string;
    readonly eccentricity: string;
    readonly inclination_deg: string;
    readonly raan_deg: string;
    readonly argumentOfPerigee_deg: string;
    readonly trueAnomaly_deg: string;
  };
  readonly vallado26: Sourced & {
    readonly gm_km3ps2: number;
    readonly semiLatusRectum_km: number;
    readonly eccentricity: number;
    readonly inclination_deg: number;
    readonly raan_deg: number;
    readonly argumentOfPerigee_deg: number;
    readonly trueAnomaly_deg: number;
    readonly position_km: readonly string[];
    readonly velocity_kmps: readonly string[];
  };
  readonly vallado24: Vectors & {
    readonly span_s: number;
    readonly endPosition_km: readonly string[];
    readonly endVelocity_kmps: readonly string[];
  };
  readonly hohmann: Sourced & {
    readonly gm_km3ps2: number;
    readonly startHeight_km: number;
    readonly endHeight_km: number;
    readonly deltaV_kmps: string;
    readonly time_h: string;
  };
  readonly bielliptic: Sourced & {
    readonly gm_km3ps2: number;
    readonly startHeight_km: number;
    readonly middleHeight_km: number;
    readonly endHeight_km: number;
    readonly deltaV_kmps: string;
    readonly time_h: string;
  };
  readonly curtisFlightPath: Sourced & {
    readonly trueAnomaly_deg: number;
    readonly eccentricity: number;
    readonly flightPathAngle_deg: string;
  };
  readonly curtisKepler: Sourced & {
    readonly gm_km3ps2: number;
    readonly semiMajorAxis_km: number;
    readonly eccentricity: number;
    readonly trueAnomaly_deg: number;
    readonly angularMomentum_km2ps: string;
    readonly timeFromPerigee_s: string;
  };
  readonly curtisHyperbola: Sourced & {
    readonly gm_km3ps2: number;
    readonly earthRadius_km: number;
    readonly perigeeHeight_km: number;
    readonly perigeeSpeed_kmps: number;
    readonly eccentricity: string;
    readonly span_s: number;
    readonly radius_km: string;
    readonly speed_kmps: string;
  };
  readonly curtisJ2: Vectors & {
    readonly raanRate_degph: string;
    readonly argumentOfPerigeeRate_degph: string;
  };
  readonly circularSpeed: Sourced & {
    readonly gm_km3ps2: number;
    readonly radius_km: number;
    readonly speed_kmps: string;
  };
  readonly geosynchronous: Sourced & {
    readonly gm_km3ps2: number;
    readonly semiMajorAxis_km: string;
    readonly period_s: number;
  };
}

const RAD = Math.PI / 180;
const DIGIT = 'one unit of the last printed digit';
const stateOf = (v: Vectors): Float64Array =>
  Float64Array.from([...v.position_km, ...v.velocity_kmps], (each) => 1000 * each);

/** Elements from a state and back, speeds and periods; km, km/s, degrees as printed. */
export function checkElements(published: PublishedOrbits): EvidenceOutcome {
  const { vallado25, vallado26, circularSpeed, geosynchronous, curtisFlightPath } = published;
  const there = new Rows(vallado25);
  const orbit = orbitFromState(stateOf(vallado25), vallado25.gm_km3ps2 * 1e9);
  const rounded =
    'one unit of the last printed digit: the state is given to a metre and a millimetre a second';
  there.digits(
    'semi-latus rectum',
    'km',
    orbit.semiLatusRectum_m / 1000,
    vallado25.semiLatusRectum_km,
    rounded,
  );
  there.digits('eccentricity', '', orbit.eccentricity, vallado25.eccentricity, rounded);
  there.digits('inclination', '°', orbit.inclination_rad / RAD, vallado25.inclination_deg, rounded);
  there.digits('node', '°', orbit.raan_rad / RAD, vallado25.raan_deg, rounded);
  there.digits(
    'argument of perigee',
    '°',
    orbit.argumentOfPerigee_rad / RAD,
    vallado25.argumentOfPerigee_deg,
    rounded,
  );
  there.digits('true anomaly', '°', orbit.trueAnomaly_rad / RAD, vallado25.trueAnomaly_deg, rounded);
  const back = new Rows(vallado26);
  const state = new Float64Array(6);
  stateFromElements(
    {
      semiLatusRectum_m: vallado26.semiLatusRectum_km * 1000,
      eccentricity: vallado26.eccentricity,
      inclination_rad: vallado26.inclination_deg * RAD,
      raan_rad: vallado26.raan_deg * RAD,
      argumentOfPerigee_rad: vallado26.argumentOfPerigee_deg * RAD,
      trueAnomaly_rad: vallado26.trueAnomaly_deg * RAD,
    },
    vallado26.gm_km3ps2 * 1e9,
    state,
  );
  ['x', 'y', 'z'].forEach((axis, i) => {
    back.compare({
      quantity: `position ${axis} from elements`,
      unit: 'km',
      published: vallado26.position_km[i]!,
      ours: state[i]! / 1000,
      tolerance: 0.03,
      why: 'the book carried other digits than it prints: every independent recomputation is up to 24 m off',
    });
    back.compare({
      quantity: `velocity ${axis} from elements`,
      unit: 'km/s',
      published: vallado26.velocity_kmps[i]!,
      ours: state[i + 3]! / 1000,
      tolerance: 2e-5,
      why: 'the same: 24 m over the radius, of 7 km/s',
    });
  });
  const speeds = new Rows(circularSpeed);
  speeds.digits(
    'circular speed at 7000 km',
    'km/s',
    circularSpeed_mps(circularSpeed.radius_km * 1000, circularSpeed.gm_km3ps2 * 1e9) / 1000,
    circularSpeed.speed_kmps,
    DIGIT,
  );
  const synchronous = new Rows(geosynchronous);
  synchronous.compare({
    quantity: 'period at the geosynchronous radius',
    unit: 's',
    published: geosynchronous.period_s,
    ours: orbitalPeriod_s(Number(geosynchronous.semiMajorAxis_km) * 1000, geosynchronous.gm_km3ps2 * 1e9),
    tolerance: 2e-4,
    why: 'the radius is printed to 0.1 m, half of which is 1.5e-4 s of the period',
  });
  const climb = new Rows(curtisFlightPath);
  const e = curtisFlightPath.eccentricity;
  stateFromElements(
    {
      semiLatusRectum_m: 1e7,
      eccentricity: e,
      inclination_rad: 0.7,
      raan_rad: 1,
      argumentOfPerigee_rad: 2,
      trueAnomaly_rad: curtisFlightPath.trueAnomaly_deg * RAD,
    },
    4e14,
    state,
  );
  const basis = new Float64Array(9);
  const angles = { speed_mps: NaN, flightPathAngle_rad: NaN, heading_rad: NaN };
  localBasis(sphereFigure(), state[0]!, state[1]!, state[2]!, basis);
  velocityAngles(basis, state[3]!, state[4]!, state[5]!, angles);
  climb.digits(
    'flight-path angle',
    '°',
    angles.flightPathAngle_rad / RAD,
    curtisFlightPath.flightPathAngle_deg,
    'one unit of the last printed digit, which the source cut off',
  );
  return outcome(
    'orbital-elements',
    'Orbital elements, speeds and periods',
    'Worked examples of textbooks.',
    [there, back, speeds, synchronous, climb].flatMap((each) => each.rows),
  );
}

/** Two transfers by their sums of speeds (km/s) and times (h). */
export function checkTransfers({ hohmann, bielliptic }: PublishedOrbits): EvidenceOutcome {
  const direct = new Rows(hohmann);
  const high = new Rows(bielliptic);
  const radius = (height_km: number): number => EARTH_EQUATORIAL_RADIUS_m + height_km * 1000;
  /** Speed changes (m/s) and time (s) of half ellipses from one radius (m) to the next. */
  const transfer = (gm: number, radii: readonly number[]): { deltaV_mps: number; time_s: number } => {
    let deltaV_mps = 0;
    let time_s = 0;
    let speed = circularSpeed_mps(radii[0]!, gm);
    for (let i = 1; i < radii.length; i++) {
      const a = 0.5 * (radii[i - 1]! + radii[i]!);
      deltaV_mps += Math.abs(orbitalSpeed_mps(radii[i - 1]!, a, gm) - speed);
      time_s += 0.5 * orbitalPeriod_s(a, gm);
      speed = orbitalSpeed_mps(radii[i]!, a, gm);
    }
    deltaV_mps += Math.abs(circularSpeed_mps(radii[radii.length - 1]!, gm) - speed);
    return { deltaV_mps, time_s };
  };
  const low = transfer(hohmann.gm_km3ps2 * 1e9, [
    radius(hohmann.startHeight_km),
    radius(hohmann.endHeight_km),
  ]);
  const seven = 'seven digits of radius in the source’s canonical units; for the time half as much again';
  direct.digits(
    'speed change of the two-impulse transfer',
    'km/s',
    low.deltaV_mps / 1000,
    hohmann.deltaV_kmps,
    DIGIT,
  );
  direct.digits('time of the two-impulse transfer', 'h', low.time_s / 3600, hohmann.time_h, DIGIT);
  const far = transfer(bielliptic.gm_km3ps2 * 1e9, [
    radius(bielliptic.startHeight_km),
    radius(bielliptic.middleHeight_km),
    radius(bielliptic.endHeight_km),
  ]);
  const relative = (quantity: string, unit: string, theirs: string, ours: number): void =>
    high.compare({ quantity, unit, published: theirs, ours, tolerance: 5e-7 * Number(theirs), why: seven });
  const { deltaV_mps, time_s } = far;
  relative('speed change of the three-impulse transfer', 'km/s', bielliptic.deltaV_kmps, deltaV_mps / 1000);
  relative('time of the three-impulse transfer', 'h', bielliptic.time_h, time_s / 3600);
  return outcome(
    'transfers',
    'Transfers between circular orbits',
    'Two and three impulses, by the speeds and periods of this program.',
    [...direct.rows, ...high.rows],
  );
}

/** Where a body is after some time about a point mass; km, km/s. */
export function checkKepler({ vallado24, curtisKepler, curtisHyperbola }: PublishedOrbits): EvidenceOutcome {
  const ellipse = new Rows(vallado24);
  const out = new Float64Array(6);
  const ran = propagateKepler(stateOf(vallado24), vallado24.span_s, vallado24.gm_km3ps2 * 1e9, out);
  const converged = (ours: number): number => (ran.status === 'converged' ? ours : Number.NaN);
  ['x', 'y', 'z'].forEach((axis, i) => {
    ellipse.digits(
      `position ${axis} after 2400 s`,
      'km',
      converged(out[i]! / 1000),
      vallado24.endPosition_km[i]!,
      DIGIT,
    );
    ellipse.digits(
      `velocity ${axis} after 2400 s`,
      'km/s',
      converged(out[i + 3]! / 1000),
      vallado24.endVelocity_kmps[i]!,
      DIGIT,
    );
  });
  const slow = new Rows(curtisKepler);
  const gm = curtisKepler.gm_km3ps2 * 1e9;
  const e = curtisKepler.eccentricity;
  const semiLatusRectum_m = curtisKepler.semiMajorAxis_km * 1000 * (1 - e * e);
  const state = new Float64Array(6);
  const shape = { eccentricity: e, inclination_rad: 0.4, raan_rad: 1, argumentOfPerigee_rad: 2 };
  stateFromElements({ ...shape, semiLatusRectum_m, trueAnomaly_rad: 0 }, gm, state);
  const there = orbitFromState(state, gm);
  slow.digits(
    'angular momentum',
    'km²/s',
    there.angularMomentum_m2ps / 1e6,
    curtisKepler.angularMomentum_km2ps,
    'one unit of the last digit: the eccentricity is given to five',
  );
  propagateKepler(state, Number(curtisKepler.timeFromPerigee_s), gm, state);
  slow.compare({
    quantity: 'true anomaly at the printed time',
    unit: '°',
    published: curtisKepler.trueAnomaly_deg,
    ours: orbitFromState(state, gm).trueAnomaly_rad / RAD,
    tolerance: 0.01,
    why: 'half a second, to which the time is printed, is 0.008 degrees there',
  });
  const open = new Rows(curtisHyperbola);
  const r = (curtisHyperbola.earthRadius_km + curtisHyperbola.perigeeHeight_km) * 1000;
  const start = Float64Array.of(r, 0, 0, 0, curtisHyperbola.perigeeSpeed_kmps * 1000, 0);
  const gmOpen = curtisHyperbola.gm_km3ps2 * 1e9;
  open.digits(
    'eccentricity of the hyperbola',
    '',
    orbitFromState(start, gmOpen).eccentricity,
    curtisHyperbola.eccentricity,
    DIGIT,
  );
  propagateKepler(start, curtisHyperbola.span_s, gmOpen, out);
  open.compare({
    quantity: 'radius on the hyperbola',
    unit: 'km',
    published: curtisHyperbola.radius_km,
    ours: Math.hypot(out[0]!, out[1]!, out[2]!) / 1000,
    tolerance: 11,
    why: 'printed to five digits, at a time printed to a second, in which it grows by 10.5 km',
  });
  open.digits(
    'speed on the hyperbola',
    'km/s',
    Math.hypot(out[3]!, out[4]!, out[5]!) / 1000,
    curtisHyperbola.speed_kmps,
    DIGIT,
  );
  return outcome('kepler', 'Motion about a point mass', 'An ellipse and a hyperbola followed in time.', [
    ...ellipse.rows,
    ...slow.rows,
    ...open.rows,
  ]);
}
