import { expect, it, vi } from 'vitest';
import type * as Physical from '../../../core/constants/physical.ts';
import { ExponentialAtmosphere } from '../../../core/earth/atmosphere/simple.ts';
import { sphereFigure } from '../../../core/earth/figure.ts';
import { centralGravity } from '../../../core/earth/gravity.ts';
import { Motion } from '../../../core/flight/motion.ts';
import type { Segment } from '../../../core/flight/planTypes.ts';
import { FixedLaw } from '../../../core/flight/steering/fixed.ts';
import { ZeroAlphaLaw } from '../../../core/flight/steering/zeroAlpha.ts';
import { findMaximum } from '../../../core/math/extrema.ts';
import { StepStore } from '../../../core/ode/dense.ts';
import { Driver, type Monitor } from '../../../core/ode/driver.ts';
import { compileDrag } from '../../../core/vehicle/drag.ts';
import published from '../../published/flight/gravity-turn.json' with { type: 'json' };
import { blunt } from './studies.ts';

// The textbook's Earth does not turn, which no study can say.
vi.mock('../../../core/constants/physical.ts', async (original) => ({
  ...(await original<typeof Physical>()),
  EARTH_ROTATION_radps: 0,
}));

const { inputs, results, printed } = published;
const DEG = 180 / Math.PI;

it('the equations of motion fly the textbook gravity turn, with its losses', () => {
  const { radius_m, standardGravity_mps2: g0, liftoffMass_kg, isp_s, massRatio } = inputs;
  const thrust_N = inputs.thrustToWeight * liftoffMass_kg * g0;
  const flow_kgps = thrust_N / (isp_s * g0);
  const burn_s = (liftoffMass_kg * (1 - 1 / massRatio)) / flow_kgps;
  expect(burn_s).toBeCloseTo(results.burn_s, 6);
  const atmosphere = new ExponentialAtmosphere({
    density0_kgpm3: inputs.seaLevelDensity_kgpm3,
    scaleHeight_m: inputs.scaleHeight_m,
  });
  const gravity = centralGravity(g0 * radius_m * radius_m);
  const motion = new Motion({ gravity, figure: sphereFigure(radius_m), atmosphere, wind: null }, true);
  const segment: Segment = {
    start_s: 0,
    end_s: burn_s,
    bodies: [0],
    arrangement: 0,
    thrust_N,
    thrustRate_Nps: 0,
    exitArea_m2: 0,
    exitAreaRate_m2ps: 0,
    flow_kgps,
    flowRate_kgps2: 0,
    mass_kg: liftoffMass_kg,
    propellant_kg: [],
    burns: [],
    lawEvent: -1,
    held: false,
    fired: [],
  };
  const drag = compileDrag(blunt(['one'], inputs.dragCoefficient, inputs.area_m2));
  const absolute = new Float64Array(12).fill(1e-9);
  absolute.fill(1e-5, 0, 3);
  const driver = new Driver(12, { relative: 1e-12, absolute, longestStep: 10, mostSteps: 20_000 });

  motion.enter(segment, 0, drag, new FixedLaw(Float64Array.of(1, 0, 0)));
  const y = new Float64Array(12);
  y[0] = radius_m;
  driver.start(motion, 0, y);
  const pitchover: Monitor = {
    direction: 1,
    value: (_t, state) => state[0]! - radius_m - inputs.pitchover_m,
  };
  expect(driver.advanceTo(motion, burn_s, [pitchover], null)).toBe('event');
  // The textbook's program integrates to 1e-12; the place of an event is good to a nanosecond.
  expect(driver.t).toBeCloseTo(results.pitchover_s, 7);

  const v = driver.y[3]!;
  driver.y[3] = v * Math.sin(inputs.pitchover_deg / DEG);
  driver.y[4] = v * Math.cos(inputs.pitchover_deg / DEG);
  motion.enter(segment, 0, drag, new ZeroAlphaLaw());
  driver.restart(motion);
  const steps = new StepStore(12);
  expect(driver.advanceTo(motion, burn_s, [], steps)).toBe('reached');

  const end = driver.y;
  const r = Math.hypot(end[0]!, end[1]!);
  const speed = Math.hypot(end[3]!, end[4]!);
  const angle = Math.asin((end[0]! * end[3]! + end[1]! * end[4]!) / (r * speed)) * DEG;
  const downrange = radius_m * Math.atan2(end[1]!, end[0]!);
  console.log(
    `gravity turn: off by ${(speed - results.speed_mps).toExponential(1)} m/s, ` +
      `${(r - radius_m - results.height_m).toExponential(1)} m up, ${(downrange - results.downrange_m).toExponential(1)} m along`,
  );
  // Both are converged to far below; a gravity turn magnifies an error at pitchover some 10⁵ times (0.15 degrees there
  // become 81 at the end), so 1e-12 of the state becomes 1e-6 m/s and 1e-3 m. Ten times that is allowed.
  expect(Math.abs(speed - results.speed_mps)).toBeLessThan(1e-5);
  expect(Math.abs(angle - results.flightPathAngle_deg)).toBeLessThan(1e-6);
  expect(Math.abs(downrange - results.downrange_m)).toBeLessThan(1e-2);
  expect(Math.abs(r - radius_m - results.height_m)).toBeLessThan(1e-2);
  // The ledger's terms are the textbook's losses; thrust along the velocity has no others.
  const [ideal, gravityLoss, dragLoss, pressure, steering, centrifugal] = end.subarray(6);
  expect(Math.abs(dragLoss! - results.dragLoss_mps)).toBeLessThan(1e-5);
  expect(Math.abs(gravityLoss! - results.gravityLoss_mps)).toBeLessThan(1e-5);
  expect(ideal).toBeCloseTo(isp_s * g0 * Math.log(massRatio), 5);
  expect(Math.abs(pressure!) + Math.abs(centrifugal!)).toBe(0);
  // The first step out of rest has no direction of motion; the vertical stands in for it below 1 mm/s.
  expect(Math.abs(steering!)).toBeLessThan(1e-6);
  // As printed, to their last digit.
  expect((speed / 1000).toFixed(3)).toBe(printed.speed_kmps);
  expect((dragLoss! / 1000).toFixed(3)).toBe(printed.dragLoss_kmps);

  const state = new Float64Array(12);
  const slope = new Float64Array(12);
  const pressureAt = (t: number): number => {
    steps.sample(t, state);
    motion.derivative(t, state, slope);
    return 0.5 * motion.density_kgpm3 * motion.speedAir_mps ** 2;
  };
  const peak_s = findMaximum(pressureAt, 40, 100, 1e-6);
  // To the digits given: 0.05 Pa; the place of a flat maximum to 1 ms.
  expect(Math.abs(pressureAt(peak_s) - results.maxQ_Pa)).toBeLessThan(0.05);
  expect(Math.abs(peak_s - results.maxQ_s)).toBeLessThan(1e-3);
});
