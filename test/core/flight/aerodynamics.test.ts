/** Forces of the air alone, without gravity in air of one density, against closed forms. */
import { describe, expect, it } from 'vitest';
import { EARTH_ROTATION_radps } from '../../../core/constants/physical.ts';
import { ExponentialAtmosphere } from '../../../core/earth/atmosphere/simple.ts';
import { centralGravity } from '../../../core/earth/gravity.ts';
import { sphereFigure } from '../../../core/earth/figure.ts';
import { Motion } from '../../../core/flight/motion.ts';
import type { Segment } from '../../../core/flight/planTypes.ts';
import { FixedLaw } from '../../../core/flight/steering/fixed.ts';
import { readLedger } from '../../../core/flight/ledger.ts';
import { StepStore } from '../../../core/ode/dense.ts';
import { Driver } from '../../../core/ode/driver.ts';
import { compileDrag } from '../../../core/vehicle/drag.ts';
import type { Aerodynamics } from '../../../core/contract/vehicle.ts';
import { blunt } from './studies.ts';

const DENSITY_kgpm3 = 0.4;
const SOUND_mps = 300;
const MASS_kg = 1000;
const AREA_m2 = 2;
const HEIGHT_m = 10_000;
const AIR = new ExponentialAtmosphere({
  density0_kgpm3: DENSITY_kgpm3,
  // One density: it changes by less than rounding.
  scaleHeight_m: 1e22,
  pressure_Pa: 0,
  soundSpeed_mps: SOUND_mps,
});

/** A coasting body above the pole, its axis fixed, its velocity against the ground given; after so many seconds. */
function coast(
  drag: Aerodynamics,
  axis: readonly number[],
  velocity_mps: readonly number[],
  seconds: number,
): { velocity_mps: number[]; closure_mps: number } {
  const setting = {
    gravity: centralGravity(1e-30),
    figure: sphereFigure(),
    atmosphere: AIR,
    wind: null,
  };
  const motion = new Motion(setting, true);
  const segment: Segment = {
    start_s: 0,
    end_s: seconds,
    bodies: [0],
    arrangement: 0,
    thrust_N: 0,
    thrustRate_Nps: 0,
    exitArea_m2: 0,
    exitAreaRate_m2ps: 0,
    flow_kgps: 0,
    flowRate_kgps2: 0,
    mass_kg: MASS_kg,
    propellant_kg: [],
    burns: [],
    lawEvent: -1,
    held: false,
    fired: [],
  };
  motion.enter(segment, 0, compileDrag(drag), new FixedLaw(Float64Array.from(axis)));
  const y = new Float64Array(12);
  y[2] = 6_378_137 + HEIGHT_m;
  y.set(velocity_mps, 3);
  const driver = new Driver(12, {
    relative: 1e-12,
    absolute: new Float64Array(12).fill(1e-10),
    longestStep: 1,
    mostSteps: 20_000,
  });
  driver.start(motion, 0, y);
  const steps = new StepStore(12);
  expect(driver.advanceTo(motion, seconds, [], steps)).toBe('reached');
  const [x = 0, yy = 0, , vx = 0, vy = 0, vz = 0] = driver.y;
  const ground = [vx + EARTH_ROTATION_radps * yy, vy - EARTH_ROTATION_radps * x, vz];
  const track = { id: 'one', bodies: [0], segments: [segment], steps, start_s: 0, end_s: seconds };
  const ledger = readLedger({ ...track, end: 'insertion', extra_kg: 0, heldAim: null, heldTurn: null });
  return { velocity_mps: ground, closure_mps: ledger.closure_mps + Math.hypot(...velocity_mps) };
}

describe('the normal force', () => {
  const sloped = { ...blunt(['one'], 0, AREA_m2), normalForceSlope_per_rad: 3 };

  it('stops a small sideways drift exponentially, whichever way the drift goes', () => {
    for (const side of [0.05, -0.05]) {
      const speed_mps = 500;
      const { velocity_mps, closure_mps } = coast(sloped, [0, 0, -1], [side, 0, -speed_mps], 4);
      const rate_ps = (0.5 * DENSITY_kgpm3 * speed_mps * AREA_m2 * 3) / MASS_kg;
      // The turning of the frame moves the body by 0.1 mm/s; angles of 1e-4 rad are linear to 1e-8.
      expect(velocity_mps[0]! / side).toBeCloseTo(Math.exp(-rate_ps * 4), 5);
      expect(velocity_mps[2]).toBeCloseTo(-speed_mps, 4);
      expect(Math.abs(closure_mps)).toBeLessThan(1e-6);
    }
  });

  it('stands at right angles to the axis, on the side to which the nose is turned, and does no work along it', () => {
    const angle = 0.3;
    const axis = [Math.sin(angle), 0, -Math.cos(angle)];
    const h = 1e-3;
    const { velocity_mps } = coast(sloped, axis, [0, 0, -500], h);
    const gained = [velocity_mps[0]! / h, velocity_mps[1]! / h, (velocity_mps[2]! + 500) / h];
    const along = gained.reduce((sum, g, i) => sum + g * axis[i]!, 0);
    const size = (0.5 * DENSITY_kgpm3 * 500 ** 2 * AREA_m2 * 3 * Math.sin(angle)) / MASS_kg;
    // Over a millisecond the velocity turns by 1e-4 rad.
    expect(Math.abs(along) / size).toBeLessThan(1e-3);
    expect(Math.hypot(...gained) / size).toBeCloseTo(1, 3);
    expect(gained[0]).toBeGreaterThan(0);
    // It brakes too.
    expect(gained[2]).toBeGreaterThan(0);
  });
});

describe('drag by a monotone cubic', () => {
  it('slows a body in the time that the integral of dv over the deceleration takes', () => {
    // Two nodes with level ends make 3s² − 2s³ between them.
    const drag: Aerodynamics = {
      bodies: ['one'],
      referenceArea_m2: AREA_m2,
      dragCoefficient: { mach: [0.5, 3], value: [0.2, 0.8], between: 'monotoneCubic' },
    };
    const coefficient = (mach: number): number => {
      const s = Math.min(1, Math.max(0, (mach - 0.5) / 2.5));
      return 0.2 + 0.6 * (3 - 2 * s) * s * s;
    };
    const from = 840;
    const to = 310;
    // Simpson's rule on 2000 panels: 1e-12.
    const n = 4000;
    let seconds = 0;
    for (let i = 0; i <= n; i++) {
      const v = to + ((from - to) * i) / n;
      const weight = i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2;
      const deceleration = (0.5 * DENSITY_kgpm3 * v * v * AREA_m2 * coefficient(v / SOUND_mps)) / MASS_kg;
      seconds += (weight * (from - to)) / (3 * n) / deceleration;
    }
    const { velocity_mps, closure_mps } = coast(drag, [0, 0, -1], [0, 0, -from], seconds);
    expect(Math.hypot(...velocity_mps)).toBeCloseTo(to, 5);
    expect(Math.abs(closure_mps)).toBeLessThan(1e-6);
  });
});
