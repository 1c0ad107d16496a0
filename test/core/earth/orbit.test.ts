import { describe, expect, test } from 'vitest';
import { EARTH_EQUATORIAL_RADIUS_m, EARTH_GM_m3ps2 } from '../../../core/constants/physical.ts';
import {
  circularSpeed_mps,
  orbitFromState,
  orbitalPeriod_s,
  orbitalSpeed_mps,
  shapeFromApsides,
  stateFromElements,
} from '../../../core/earth/orbit.ts';
import orbits from '../../published/earth/orbits.json' with { type: 'json' };
import { Worst, lastDigit } from './worst.ts';

const DEGREE = Math.PI / 180;
const GM = EARTH_GM_m3ps2;
const stateOf = (example: { position_km: number[]; velocity_kmps: number[] }) =>
  Float64Array.from([...example.position_km, ...example.velocity_kmps], (k) => k * 1000);

describe('the osculating orbit', () => {
  test('the published state has the published elements', () => {
    const example = orbits.vallado25;
    const orbit = orbitFromState(stateOf(example), example.gm_km3ps2 * 1e9);
    const worst = new Worst('published elements of a state', 'last digits', 1);
    const check = (label: string, computed: number, printed: string) =>
      worst.add(label, (computed - Number(printed)) / lastDigit(printed));
    check('semi-latus rectum', orbit.semiLatusRectum_m / 1000, example.semiLatusRectum_km);
    check('eccentricity', orbit.eccentricity, example.eccentricity);
    check('inclination', orbit.inclination_rad / DEGREE, example.inclination_deg);
    check('node', orbit.raan_rad / DEGREE, example.raan_deg);
    check('perigee', orbit.argumentOfPerigee_rad / DEGREE, example.argumentOfPerigee_deg);
    check('anomaly', orbit.trueAnomaly_rad / DEGREE, example.trueAnomaly_deg);
    // A unit of the last digit, since the state is itself rounded to a metre's thousandth and 1e-6 km/s.
    worst.report();
    expect([orbit.perigeeDefined, orbit.nodeDefined, orbit.planeDefined]).toEqual([true, true, true]);
  });

  test('the published elements have the published state', () => {
    const example = orbits.vallado26;
    const state = new Float64Array(6);
    stateFromElements(
      {
        semiLatusRectum_m: example.semiLatusRectum_km * 1000,
        eccentricity: example.eccentricity,
        inclination_rad: example.inclination_deg * DEGREE,
        raan_rad: example.raan_deg * DEGREE,
        argumentOfPerigee_rad: example.argumentOfPerigee_deg * DEGREE,
        trueAnomaly_rad: example.trueAnomaly_deg * DEGREE,
      },
      example.gm_km3ps2 * 1e9,
      state,
    );
    const position = new Worst('published position of elements', 'km', 0.03);
    const velocity = new Worst('published velocity of elements', 'km/s', 2e-5);
    example.position_km.forEach((printed, i) => position.add(i, state[i]! / 1000 - Number(printed)));
    example.velocity_kmps.forEach((printed, i) => velocity.add(i, state[3 + i]! / 1000 - Number(printed)));
    // The printed place is 24 m from what its printed elements give (see the note beside it); the elements
    // themselves, half a unit of 0.01 degrees, would allow 800 m.
    position.report();
    velocity.report();
  });

  test('the published hyperbola has its eccentricity and the published ellipse its angular momentum', () => {
    const hyperbola = orbits.curtisHyperbola;
    const radius = (hyperbola.earthRadius_km + hyperbola.perigeeHeight_km) * 1000;
    const state = Float64Array.of(radius, 0, 0, 0, hyperbola.perigeeSpeed_kmps * 1000, 0);
    const orbit = orbitFromState(state, hyperbola.gm_km3ps2 * 1e9);
    const printed = hyperbola.eccentricity;
    expect(Math.abs(orbit.eccentricity - Number(printed))).toBeLessThan(lastDigit(printed));
    expect(orbit.semiMajorAxis_m).toBeLessThan(0);
    expect(orbit.apogeeHeight_m).toBe(Infinity);

    const ellipse = orbits.curtisKepler;
    const p = ellipse.semiMajorAxis_km * (1 - ellipse.eccentricity ** 2);
    const h = Math.sqrt(ellipse.gm_km3ps2 * p);
    expect(Math.abs(h - Number(ellipse.angularMomentum_km2ps))).toBeLessThan(1);
  });

  test('a transfer between circles by two impulses costs and takes what is published', () => {
    const example = orbits.hohmann;
    const gm = example.gm_km3ps2 * 1e9;
    const r1 = example.startHeight_km * 1000 + EARTH_EQUATORIAL_RADIUS_m;
    const r2 = example.endHeight_km * 1000 + EARTH_EQUATORIAL_RADIUS_m;
    const { semiMajorAxis_m: a } = shapeFromApsides(
      example.startHeight_km * 1000,
      example.endHeight_km * 1000,
    );
    const cost =
      orbitalSpeed_mps(r1, a, gm) -
      circularSpeed_mps(r1, gm) +
      (circularSpeed_mps(r2, gm) - orbitalSpeed_mps(r2, a, gm));
    const worst = new Worst('two-impulse transfer', 'last digits', 1);
    worst.add('cost', (cost / 1000 - Number(example.deltaV_kmps)) / lastDigit(example.deltaV_kmps));
    worst.add('time', (orbitalPeriod_s(a, gm) / 7200 - Number(example.time_h)) / lastDigit(example.time_h));
    worst.report();
  });

  test('a transfer by three impulses costs and takes what is published', () => {
    const example = orbits.bielliptic;
    const gm = example.gm_km3ps2 * 1e9;
    const [h1, hb, h2] = [example.startHeight_km, example.middleHeight_km, example.endHeight_km].map(
      (h) => h * 1000,
    ) as [number, number, number];
    const [r1, rb, r2] = [h1, hb, h2].map((h) => h + EARTH_EQUATORIAL_RADIUS_m) as [number, number, number];
    const up = shapeFromApsides(h1, hb).semiMajorAxis_m;
    const down = shapeFromApsides(hb, h2).semiMajorAxis_m;
    const cost =
      orbitalSpeed_mps(r1, up, gm) -
      circularSpeed_mps(r1, gm) +
      (orbitalSpeed_mps(rb, down, gm) - orbitalSpeed_mps(rb, up, gm)) +
      (orbitalSpeed_mps(r2, down, gm) - circularSpeed_mps(r2, gm));
    const time = (orbitalPeriod_s(up, gm) + orbitalPeriod_s(down, gm)) / 2;
    const worst = new Worst('three-impulse transfer, relative', '', 5e-7);
    worst.add('cost', cost / 1000 / Number(example.deltaV_kmps) - 1);
    worst.add('time', time / 3600 / Number(example.time_h) - 1);
    // The source's seven digits of radius, times 3 / 2 for the time.
    worst.report();
  });

  test('the circular speed and the geosynchronous period are the published ones', () => {
    const circle = orbits.circularSpeed;
    const speed = circularSpeed_mps(circle.radius_km * 1000, circle.gm_km3ps2 * 1e9) / 1000;
    expect(Math.abs(speed - Number(circle.speed_kmps))).toBeLessThan(lastDigit(circle.speed_kmps));
    const day = orbits.geosynchronous;
    const period = orbitalPeriod_s(Number(day.semiMajorAxis_km) * 1000, day.gm_km3ps2 * 1e9);
    // The radius has four decimals of a kilometre: 0.05 m is 1.5e-4 s.
    expect(Math.abs(period - day.period_s)).toBeLessThan(2e-4);
  });

  test('apsis heights are above 6 378 137 m and come back from a state made of them', () => {
    const { semiMajorAxis_m, eccentricity } = shapeFromApsides(185e3, 35786e3);
    const state = new Float64Array(6);
    const shape = {
      semiLatusRectum_m: semiMajorAxis_m * (1 - eccentricity ** 2),
      eccentricity,
      inclination_rad: 0.5,
      raan_rad: 1,
      argumentOfPerigee_rad: 3,
      trueAnomaly_rad: 2,
    };
    stateFromElements(shape, GM, state);
    const orbit = orbitFromState(state, GM);
    // Rounding of the state, 1e-16, times 42 000 km and the amplification 1 / (1 - e).
    expect(Math.abs(orbit.perigeeHeight_m - 185e3)).toBeLessThan(1e-6);
    expect(Math.abs(orbit.apogeeHeight_m - 35786e3)).toBeLessThan(1e-6);
    const swapped = shapeFromApsides(35786e3, 185e3);
    expect(swapped).toEqual({ semiMajorAxis_m, eccentricity });
  });
});
