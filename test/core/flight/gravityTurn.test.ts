import { expect, it, vi } from 'vitest';
import type * as Physical from '../../../core/constants/physical.ts';
import { ExponentialAtmosphere } from '../../../core/earth/atmosphere/simple.ts';
import { sphereFigure } from '../../../core/earth/figure.ts';
import { centralGravity } from '../../../core/earth/gravity.ts';
import { checkGravityTurn } from '../../../core/evidence/gravityTurn.ts';
import { Motion } from '../../../core/flight/motion.ts';
import type { Segment } from '../../../core/flight/planTypes.ts';
import { FixedLaw } from '../../../core/flight/steering/fixed.ts';
import { ZeroAlphaLaw } from '../../../core/flight/steering/zeroAlpha.ts';
import { Driver, type Monitor } from '../../../core/ode/driver.ts';
import { compileDrag } from '../../../core/vehicle/drag.ts';
import published from '../../published/flight/gravity-turn.json' with { type: 'json' };
import { blunt } from './studies.ts';

// The textbook's Earth does not turn, which no study can say.
vi.mock('../../../core/constants/physical.ts', async (original) => ({
  ...(await original<typeof Physical>()),
  EARTH_ROTATION_radps: 0,
}));

const { inputs } = published;
const DEG = 180 / Math.PI;

it('the ledger of a flight has the losses of the textbook’s gravity turn, and no others', () => {
  const { radius_m, standardGravity_mps2: g0, liftoffMass_kg, isp_s, massRatio } = inputs;
  const thrust_N = inputs.thrustToWeight * liftoffMass_kg * g0;
  const flow_kgps = thrust_N / (isp_s * g0);
  const burn_s = (liftoffMass_kg * (1 - 1 / massRatio)) / flow_kgps;
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

  const v = driver.y[3]!;
  driver.y[3] = v * Math.sin(inputs.pitchover_deg / DEG);
  driver.y[4] = v * Math.cos(inputs.pitchover_deg / DEG);
  motion.enter(segment, 0, drag, new ZeroAlphaLaw());
  driver.restart(motion);
  expect(driver.advanceTo(motion, burn_s, [], null)).toBe('reached');

  // The published check flies the same turn and takes its losses along the inertial velocity by integrals of its own, which it
  // holds against the textbook. On an Earth that does not turn the ledger's are the same.
  const { rows } = checkGravityTurn(published);
  const theirs = (quantity: string): number => rows.find((row) => row.quantity === quantity)!.ours;
  const [ideal, gravityLoss, dragLoss, pressure, steering, centrifugal] = driver.y.subarray(6);
  // Both are integrated to 1e-12, and a gravity turn magnifies an error at pitchover some 10⁵ times.
  expect(Math.abs(dragLoss! - theirs('drag loss'))).toBeLessThan(1e-5);
  expect(Math.abs(gravityLoss! - theirs('gravity loss'))).toBeLessThan(1e-5);
  expect(ideal).toBeCloseTo(isp_s * g0 * Math.log(massRatio), 5);
  expect(Math.abs(pressure!) + Math.abs(centrifugal!)).toBe(0);
  // The first step out of rest has no direction of motion; the vertical stands in for it below 1 mm/s.
  expect(Math.abs(steering!)).toBeLessThan(1e-6);
});
