import { describe, expect, it } from 'vitest';
import { launchFrame, siteAtRelease } from '../../../core/flight/launch.ts';

const DEG = Math.PI / 180;
const OMEGA = 7.292115e-5;
const site = { name: 'site', latitude_deg: 16, longitude_deg: 30, height_m: 500 };

describe('the site at release', () => {
  it('on the sphere lies on its radius, and turns with the Earth', () => {
    const { state, basis } = siteAtRelease(site, 'sphere', 0);
    const r = 6_378_137 + 500;
    expect(state[0]).toBeCloseTo(r * Math.cos(16 * DEG) * Math.cos(30 * DEG), 6);
    expect(state[1]).toBeCloseTo(r * Math.cos(16 * DEG) * Math.sin(30 * DEG), 6);
    expect(state[2]).toBeCloseTo(r * Math.sin(16 * DEG), 6);
    expect(state[3]).toBeCloseTo(-OMEGA * state[1]!, 12);
    expect(state[4]).toBeCloseTo(OMEGA * state[0]!, 12);
    expect(state[5]).toBe(0);
    // East of the site is where it moves to.
    const speed = Math.hypot(state[3]!, state[4]!);
    expect(basis[0]).toBeCloseTo(state[3]! / speed, 12);
    expect(basis[1]).toBeCloseTo(state[4]! / speed, 12);
  });

  it('on the ellipsoid has the geodetic vertical', () => {
    const { state, basis } = siteAtRelease(site, 'ellipsoid', 0);
    expect(Math.asin(basis[8]!) / DEG).toBeCloseTo(16, 12);
    // WGS 84: tan(geocentric) = (1 − f)² tan(geodetic) on the ellipsoid; 500 m up changes that by 1e-5 degrees.
    const geocentric = Math.atan2(state[2]!, Math.hypot(state[0]!, state[1]!)) / DEG;
    const f = 1 / 298.257223563;
    expect(geocentric).toBeCloseTo(Math.atan((1 - f) ** 2 * Math.tan(16 * DEG)) / DEG, 4);
    expect(geocentric).toBeLessThan(15.95);
  });

  it('is further east by the Earth’s turning when release is later', () => {
    const one = siteAtRelease(site, 'sphere', 0).state;
    const two = siteAtRelease(site, 'sphere', 100).state;
    const angle = Math.atan2(two[1]!, two[0]!) - Math.atan2(one[1]!, one[0]!);
    expect(angle).toBeCloseTo(100 * OMEGA, 12);
  });
});

describe('the launch frame', () => {
  it('points ahead along the azimuth, clockwise from north, and up', () => {
    const place = siteAtRelease(site, 'sphere', 0);
    const [east, north, up] = [0, 3, 6].map((i) => [...place.basis.slice(i, i + 3)]) as [
      number[],
      number[],
      number[],
    ];
    for (const [azimuth_deg, wanted] of [
      [0, north],
      [90, east],
      [180, north.map((each) => -each)],
    ] as const) {
      const frame = launchFrame(place, azimuth_deg * DEG);
      wanted.forEach((each, i) => expect(frame.ahead[i]).toBeCloseTo(each, 14));
      expect([...frame.up]).toEqual(up);
    }
    const slanted = launchFrame(place, 60 * DEG).ahead;
    east.forEach((each, i) =>
      expect(slanted[i]).toBeCloseTo(each * Math.sin(60 * DEG) + north[i]! * 0.5, 14),
    );
  });
});
