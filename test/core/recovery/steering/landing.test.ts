import { describe, expect, it } from 'vitest';
import { EARTH_EQUATORIAL_RADIUS_m, EARTH_ROTATION_radps } from '../../../../core/constants/physical.ts';
import { ExponentialAtmosphere } from '../../../../core/earth/atmosphere/simple.ts';
import { eastNorthUp, geodeticToCartesian } from '../../../../core/earth/ellipsoid.ts';
import { sphereFigure, WGS84_FIGURE } from '../../../../core/earth/figure.ts';
import { Motion } from '../../../../core/flight/motion.ts';
import { Driver } from '../../../../core/ode/driver.ts';
import { stoppingHeight_m } from '../../../../core/recovery/closedForms.ts';
import { LandingLaw } from '../../../../core/recovery/steering/landing.ts';
import { compileDrag } from '../../../../core/vehicle/drag.ts';

const LATITUDE_rad = 0.6;
const LONGITUDE_rad = -1.1;

/** Tangents east and north in the middle of a burn, over the ellipsoid, at velocities over the ground. */
function tangents(east_mps: number, north_mps: number, up_mps: number): [number, number] {
  const law = new LandingLaw(WGS84_FIGURE);
  law.lean.set([0.3, -0.1, 0.1, 0.5]);
  law.length_s = 10;
  law.start(100);
  const basis = new Float64Array(9);
  eastNorthUp(LATITUDE_rad, LONGITUDE_rad, basis);
  const y = new Float64Array(6);
  geodeticToCartesian(LATITUDE_rad, LONGITUDE_rad, 50, y);
  for (let i = 0; i < 3; i++)
    y[3 + i] = east_mps * basis[i]! + north_mps * basis[3 + i]! + up_mps * basis[6 + i]!;
  y[3]! -= EARTH_ROTATION_radps * y[1]!;
  y[4]! += EARTH_ROTATION_radps * y[0]!;
  const aim = new Float64Array(3);
  law.point(105, aim, y);
  expect(Math.hypot(...aim)).toBeCloseTo(1, 14);
  const [e = 0, n = 0, u = 0] = [0, 3, 6].map(
    (k) => aim[0]! * basis[k]! + aim[1]! * basis[k + 1]! + aim[2]! * basis[k + 2]!,
  );
  return [e / u, n / u];
}

describe('the lean of a landing', () => {
  it('is what its tangents say while the body is fast', () => {
    const [east, north] = tangents(12, -9, -80);
    // Means of start and end; the figure's normal is good to 1e-6.
    expect(east).toBeCloseTo(0.2, 5);
    expect(north).toBeCloseTo(0.2, 5);
    expect(tangents(0, 0, -20)[0]).toBeCloseTo(0.2, 5);
  });

  it('is none at rest over the turning ground', () => {
    const [east, north] = tangents(0, 0, 0);
    expect(east).toBeCloseTo(0, 5);
    expect(north).toBeCloseTo(0, 5);
  });

  it('fades by the speed over the ground, whichever way it goes', () => {
    // At half of 20 m/s: 1 − (3/4)³ = 37/64.
    for (const [e, n, u] of [
      [10, 0, 0],
      [0, -10, 0],
      [0, 0, -10],
      [6, 0, -8],
    ] as const)
      expect(tangents(e, n, u)[0]).toBeCloseTo((0.2 * 37) / 64, 5);
  });

  it('has neither a kink nor a jump of its bend where it begins to fade', () => {
    const at = (speed: number): number => tangents(0, 0, -speed)[0];
    const h = 0.05;
    const edge = [-2, -1, 0, 1, 2].map((k) => at(20 + k * h));
    // The third power of 2 h over 20 m/s and a little: what a kink would leave is h / 20, a jump of the bend its square.
    for (const each of edge)
      expect(Math.abs(each - edge[4]!)).toBeLessThan(0.2 * (4.2 * (h / 20)) ** 3 + 1e-12);
  });
});

describe('a vertical landing under the landing law', () => {
  it('stops at the ground from the height that the closed form says, right through the fading', () => {
    const g = 9.8;
    const thrust_mps2 = 31;
    const speed = 180;
    const figure = sphereFigure();
    const motion = new Motion(
      {
        gravity: {
          acceleration: (_x: number, _y: number, _z: number, out: Float64Array) => out.set([-g, 0, 0]),
        } as never,
        figure,
        atmosphere: new ExponentialAtmosphere({
          density0_kgpm3: 0,
          scaleHeight_m: 7000,
          pressure_Pa: 0,
          soundSpeed_mps: 340,
        }),
        wind: null,
      },
      false,
    );
    const drag = compileDrag({
      referenceArea_m2: 1,
      dragCoefficient: { mach: [0], value: [1], between: 'linear' },
    });
    const seconds = speed / (thrust_mps2 - g);
    const law = new LandingLaw(figure);
    law.length_s = seconds;
    law.start(0);
    motion.enter(
      {
        ...{ start_s: 0, end_s: 1000, bodies: [0], arrangement: 0, thrust_N: 1000 * thrust_mps2 },
        ...{ thrustRate_Nps: 0, exitArea_m2: 0, exitAreaRate_m2ps: 0, flow_kgps: 0, flowRate_kgps2: 0 },
        ...{ mass_kg: 1000, propellant_kg: [], burns: [], lawEvent: -1, held: false, fired: [] },
      },
      0,
      drag,
      law,
    );
    const driver = new Driver(6, {
      relative: 1e-12,
      absolute: new Float64Array(6).fill(1e-9),
      longestStep: 1,
      mostSteps: 100_000,
    });
    const height = stoppingHeight_m(speed, thrust_mps2, g);
    const start = Float64Array.from([EARTH_EQUATORIAL_RADIUS_m + height, 0, 0, -speed, 0, 0]);
    driver.start(motion, 0, start);
    driver.advanceTo(motion, seconds, [], null);
    // Rounding of a position of 6.4e6 m.
    expect(driver.y[0]! - EARTH_EQUATORIAL_RADIUS_m).toBeCloseTo(0, 6);
    expect(driver.y[3]!).toBeCloseTo(0, 8);
    expect(Math.hypot(driver.y[1]!, driver.y[2]!)).toBe(0);
  });
});
