import { describe, expect, it } from 'vitest';
import { EARTH_GM_m3ps2, EARTH_EQUATORIAL_RADIUS_m, G0_mps2 } from '../../../core/constants/physical.ts';
import { ExponentialAtmosphere } from '../../../core/earth/atmosphere/simple.ts';
import { sphereFigure } from '../../../core/earth/figure.ts';
import { Motion } from '../../../core/flight/motion.ts';
import type { Segment } from '../../../core/flight/planTypes.ts';
import { StepStore } from '../../../core/ode/dense.ts';
import { Driver } from '../../../core/ode/driver.ts';
import { boostbackGuess, stoppingHeight_m, timeAloft_s } from '../../../core/recovery/closedForms.ts';
import { stagnationHeating_Wpm2 } from '../../../core/recovery/heating.ts';
import { FixedLaw } from '../../../core/flight/steering/fixed.ts';
import { compileDrag } from '../../../core/vehicle/drag.ts';
import published from '../../published/recovery/entry.json' with { type: 'json' };

describe('stagnation heating', () => {
  it('is that of Sutton and Graves', () => {
    const { density_kgpm3, noseRadius_m, speed_mps, heatFlux_Wpm2 } = published.suttonGraves.check;
    // A product of printed numbers.
    expect(stagnationHeating_Wpm2(density_kgpm3, speed_mps, noseRadius_m)).toBeCloseTo(
      Number(heatFlux_Wpm2),
      6,
    );
    // A quarter of the density, four times the radius, twice the speed: 1/2 · 1/2 · 8.
    expect(stagnationHeating_Wpm2(0.25, 2000, 4)).toBeCloseTo(2 * Number(heatFlux_Wpm2), 6);
  });
});

const segment = (mass_kg: number, thrust_N: number): Segment => ({
  start_s: 0,
  end_s: 1000,
  bodies: [0],
  arrangement: 0,
  thrust_N,
  thrustRate_Nps: 0,
  exitArea_m2: 0,
  exitAreaRate_m2ps: 0,
  flow_kgps: 0,
  flowRate_kgps2: 0,
  mass_kg,
  propellant_kg: [],
  burns: [],
  lawEvent: -1,
  held: false,
  fired: [],
});

const DRAG = compileDrag({
  referenceArea_m2: 1,
  dragCoefficient: { mach: [0], value: [1], between: 'linear' },
});

/** Straight down onto the north pole of a sphere, where nothing turns. */
function fall(
  density_kgpm3: number,
  gravity: number,
  height_m: number,
  speed_mps: number,
  mass: number,
  thrust: number,
) {
  const motion = new Motion(
    {
      gravity: {
        acceleration: (_x: number, _y: number, _z: number, out: Float64Array) => out.set([0, 0, -gravity]),
      } as never,
      figure: sphereFigure(),
      atmosphere: new ExponentialAtmosphere({
        density0_kgpm3: density_kgpm3,
        scaleHeight_m: published.allenEggers.scaleHeight_m,
        pressure_Pa: 0,
        soundSpeed_mps: 340,
      }),
      wind: null,
    },
    false,
  );
  const law = new FixedLaw(new Float64Array(3));
  law.direction.set([0, 0, 1]);
  motion.enter(segment(mass, thrust), 0, DRAG, law);
  const driver = new Driver(6, {
    relative: 1e-12,
    absolute: new Float64Array(6).fill(1e-9),
    longestStep: 1,
    mostSteps: 100_000,
  });
  const steps = new StepStore(6);
  const start = Float64Array.from([0, 0, EARTH_EQUATORIAL_RADIUS_m + height_m, 0, 0, -speed_mps]);
  return { motion, driver, steps, start };
}

describe('an entry without thrust', () => {
  it('is slowed as Allen and Eggers say', () => {
    const { allenEggers: own } = published;
    const { motion, driver, steps, start } = fall(
      own.groundDensity_kgpm3,
      0,
      130_000,
      own.entrySpeed_mps,
      own.massOverDragArea_kgpm2,
      0,
    );
    driver.start(motion, 0, start);
    driver.advanceTo(
      motion,
      1000,
      [{ direction: -1, value: (_t, y) => y[2]! - EARTH_EQUATORIAL_RADIUS_m }],
      steps,
    );
    let most = 0;
    let height = 0;
    let speed = 0;
    const y = new Float64Array(6);
    for (let t = steps.start; t < steps.end; t += 0.002) {
      steps.sample(t, y);
      motion.choosePiece(t, y);
      motion.derivative(t, y, new Float64Array(6));
      const slowing = motion.drag_N / motion.mass_kg / G0_mps2;
      if (slowing <= most) continue;
      most = slowing;
      height = motion.height_m;
      speed = motion.speedAir_mps;
    }
    // The entry starts where 4e-9 of the ground's density is left, not in nothing; the peak is sampled each 2 m or so,
    // where it is flat.
    expect(most / Number(own.peakDeceleration_g)).toBeCloseTo(1, 5);
    expect(Math.abs(height - Number(own.peakHeight_m))).toBeLessThan(5);
    expect(Math.abs(speed - Number(own.speedAtPeak_mps))).toBeLessThan(0.5);
  });
});

describe('a vertical landing with constant deceleration', () => {
  it('stops at the ground from the height that the closed form says', () => {
    const g = 9.8;
    const speed = 180;
    const height = stoppingHeight_m(speed, 31, g);
    const { motion, driver, start } = fall(0, g, height, speed, 1000, 31_000);
    driver.start(motion, 0, start);
    driver.advanceTo(motion, speed / (31 - g), [], null);
    // Rounding of a position of 6.4e6 m.
    expect(driver.y[2]! - EARTH_EQUATORIAL_RADIUS_m).toBeCloseTo(0, 6);
    expect(driver.y[5]!).toBeCloseTo(0, 8);
    expect(stoppingHeight_m(speed, g, g)).toBe(Infinity);
  });
});

describe('the boostback guess', () => {
  it('brings a body over a flat ground without air onto the point', () => {
    const g = EARTH_GM_m3ps2 / EARTH_EQUATORIAL_RADIUS_m ** 2;
    const aloft = timeAloft_s(70_000, 1000, g);
    expect(70_000 + 1000 * aloft - 0.5 * g * aloft * aloft).toBeCloseTo(0, 6);
    const [thrust, flow, mass] = [15e6, 4500, 2e5];
    const guess = boostbackGuess(-78_000, 3000, 1850, -40, aloft, 18, mass, thrust, flow)!;
    // The same flown in small steps; the guess lets the whole gain act from the middle of the burn, the acceleration grows.
    let x = 0;
    let y = 0;
    let vx = 1850;
    let vy = -40;
    let m = mass;
    const dt = 1e-3;
    for (let t = 0; t < aloft; t += dt) {
      const on = t >= 18 && t < 18 + guess.burn_s;
      const a = on ? thrust / m : 0;
      if (on) m -= flow * dt;
      vx += a * Math.sin(guess.azimuth_rad) * dt;
      vy += a * Math.cos(guess.azimuth_rad) * dt;
      x += vx * dt;
      y += vy * dt;
    }
    const gain = Math.hypot(vx - 1850, vy + 40);
    // A burn of 20 s with acceleration rising by two thirds has its middle of gain 1 s late.
    expect(Math.hypot(x + 78_000, y - 3000)).toBeLessThan(2 * gain);
    expect(boostbackGuess(-78_000, 3000, 1850, -40, 100, 120, mass, thrust, flow)).toBeNull();
  });
});
