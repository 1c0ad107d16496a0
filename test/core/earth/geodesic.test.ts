import { describe, expect, test } from 'vitest';
import { geodesicBetween, geodesicFrom } from '../../../core/earth/geodesic.ts';
import geodesy from '../../published/earth/geodesy.json' with { type: 'json' };
import { Worst, lastDigit } from './worst.ts';

const DEGREE = Math.PI / 180;

/** Difference of two angles in degrees, whole turns taken off. */
const turn = (a_deg: number, b_deg: number) => {
  const difference = a_deg - b_deg;
  return difference - 360 * Math.round(difference / 360);
};

describe('geodesics on WGS 84', () => {
  test('the published rows come out, as inverse and as direct problem', () => {
    const distance = new Worst('geodesic distance', 'm', 2e-8);
    const azimuth = new Worst('geodesic azimuths', 'deg', 1e-12);
    const place = new Worst('end of a geodesic', 'deg', 2e-13);
    for (const row of geodesy.geodesics.rows) {
      const [lat1, lon1, azi1, lat2, lon2, azi2, s12] = row as [
        number,
        number,
        number,
        number,
        number,
        number,
        number,
      ];
      const path = geodesicBetween(lat1 * DEGREE, lon1 * DEGREE, lat2 * DEGREE, lon2 * DEGREE);
      const label = `from ${lat1}, ${lon1}`;
      distance.add(label, path.distance_m - s12);
      azimuth.add(label, turn(path.startAzimuth_rad / DEGREE, azi1));
      azimuth.add(label, turn(path.endAzimuth_rad / DEGREE, azi2));
      const end = geodesicFrom(lat1 * DEGREE, lon1 * DEGREE, azi1 * DEGREE, s12);
      place.add(label, end.latitude_rad / DEGREE - lat2);
      place.add(label, turn(end.longitude_rad / DEGREE, lon2));
      azimuth.add(label, turn(end.azimuth_rad / DEGREE, azi2));
    }
    // The algorithm's own 15 nm; radians in between cost an ulp of a degree, 3e-14.
    distance.report();
    azimuth.report();
    place.report();
  });

  test('the published examples come out to their digits', () => {
    const { inverse, direct } = geodesy.geodesicExamples;
    const worst = new Worst('printed geodesic examples', 'last digits', 0.5);
    const check = (label: string, computed: number, printed: string) =>
      worst.add(label, (computed - Number(printed)) / lastDigit(printed));
    const path = geodesicBetween(
      inverse.lat1_deg * DEGREE,
      inverse.lon1_deg * DEGREE,
      inverse.lat2_deg * DEGREE,
      inverse.lon2_deg * DEGREE,
    );
    check('inverse azimuth 1', path.startAzimuth_rad / DEGREE, inverse.azi1_deg);
    check('inverse azimuth 2', path.endAzimuth_rad / DEGREE, inverse.azi2_deg);
    check('inverse distance', path.distance_m, inverse.s12_m);
    const end = geodesicFrom(
      direct.lat1_deg * DEGREE,
      direct.lon1_deg * DEGREE,
      direct.azi1_deg * DEGREE,
      direct.s12_m,
    );
    check('direct latitude', end.latitude_rad / DEGREE, direct.lat2_deg);
    check('direct longitude', end.longitude_rad / DEGREE, direct.lon2_deg);
    check('direct azimuth', end.azimuth_rad / DEGREE, direct.azi2_deg);
    worst.report();
  });

  test('the classical test line has its length and azimuths', () => {
    const line = geodesy.vincenty;
    const path = geodesicBetween(
      line.lat1_deg * DEGREE,
      line.lon1_deg * DEGREE,
      line.lat2_deg * DEGREE,
      line.lon2_deg * DEGREE,
    );
    const degrees = (dms: number[]) => dms[0]! + dms[1]! / 60 + dms[2]! / 3600;
    // A millimetre: the last digit, and GRS 80 instead of WGS 84.
    const distance = new Worst('length of the test line', 'm', 1e-3);
    distance.add('line', path.distance_m - Number(line.s12_m));
    distance.report();
    // The last digit of a second, 0.01; the second azimuth is printed backwards.
    const azimuth = new Worst('azimuths of the test line', 'seconds', 0.01);
    azimuth.add('1 to 2', 3600 * turn(path.startAzimuth_rad / DEGREE, degrees(line.azimuth1to2_dms)));
    azimuth.add('2 to 1', 3600 * turn(path.endAzimuth_rad / DEGREE - 180, degrees(line.azimuth2to1_dms)));
    azimuth.report();
  });

  test('azimuths count from north through east, below a whole turn', () => {
    expect(geodesicBetween(0, 0, 0.1, 0).startAzimuth_rad).toBe(0);
    expect(geodesicBetween(0, 0, 0, 0.1).startAzimuth_rad).toBeCloseTo(Math.PI / 2, 14);
    expect(geodesicBetween(0, 0, -0.1, 0).startAzimuth_rad).toBeCloseTo(Math.PI, 14);
    expect(geodesicBetween(0, 0, 0, -0.1).startAzimuth_rad).toBeCloseTo((3 * Math.PI) / 2, 14);
    expect(geodesicBetween(0.3, 0.3, 0.3, 0.3).distance_m).toBe(0);
  });

  test('coordinates that are none are refused by name', () => {
    expect(() => geodesicBetween(NaN, 0, 0, 0)).toThrow(/startLatitude_rad: received NaN/);
    expect(() => geodesicBetween(0, 0, 1.6, 0)).toThrow(/endLatitude_rad: received 1.6/);
    expect(() => geodesicFrom(0, Infinity, 0, 1)).toThrow(/longitude_rad: received Infinity/);
    expect(() => geodesicFrom(0, 0, 0, NaN)).toThrow(/distance_m: received NaN/);
    // pi / 2 itself is a pole.
    expect(geodesicBetween(Math.PI / 2, 0, -Math.PI / 2, 0).distance_m).toBeCloseTo(20003931.4586, 3);
  });
});
