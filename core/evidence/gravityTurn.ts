/**
 * A textbook's gravity turn on an Earth that does not turn, flown by this program's equations of motion. They know a turning
 * Earth only: the turn is flown along the equator against a wind of −ω(R + h), which holds the air still in inertial space.
 */
import { EARTH_ROTATION_radps } from '../constants/physical.ts';
import { ExponentialAtmosphere } from '../earth/atmosphere/simple.ts';
import { sphereFigure } from '../earth/figure.ts';
import { centralGravity } from '../earth/gravity.ts';
import { WindProfile } from '../earth/wind.ts';
import { Motion } from '../flight/motion.ts';
import type { Segment } from '../flight/planTypes.ts';
import { FixedLaw } from '../flight/steering/fixed.ts';
import { ZeroAlphaLaw } from '../flight/steering/zeroAlpha.ts';
import { findMaximum } from '../math/extrema.ts';
import { StepStore } from '../ode/dense.ts';
import { Driver } from '../ode/driver.ts';
import type { OdeSystem } from '../ode/system.ts';
import { compileDrag } from '../vehicle/drag.ts';
import { outcome, Rows, type EvidenceOutcome } from './rows.ts';

export interface PublishedGravityTurn {
  readonly source: string;
  readonly status: string;
  readonly inputs: {
    readonly standardGravity_mps2: number;
    readonly radius_m: number;
    readonly scaleHeight_m: number;
    readonly seaLevelDensity_kgpm3: number;
    readonly area_m2: number;
    readonly dragCoefficient: number;
    readonly liftoffMass_kg: number;
    readonly massRatio: number;
    readonly thrustToWeight: number;
    readonly isp_s: number;
    readonly pitchover_m: number;
    readonly pitchover_deg: number;
  };
  readonly results: {
    readonly status: string;
    readonly burn_s: number;
    readonly pitchover_s: number;
    readonly speed_mps: number;
    readonly flightPathAngle_deg: number;
    readonly downrange_m: number;
    readonly height_m: number;
    readonly dragLoss_mps: number;
    readonly gravityLoss_mps: number;
    readonly maxQ_Pa: number;
    readonly maxQ_s: number;
  };
  readonly printed: { readonly status: string; readonly speed_kmps: string; readonly dragLoss_kmps: string };
}

/** The equations of motion with two more components: drag and gravity losses along the inertial velocity, m/s. */
class StillAirMotion implements OdeSystem {
  readonly dimension = 8;

  constructor(readonly motion: Motion) {}

  derivative(t: number, y: Float64Array, dydt: Float64Array): void {
    const { motion } = this;
    motion.derivative(t, y, dydt);
    const v = Math.hypot(y[3]!, y[4]!, y[5]!);
    const { gravity } = motion;
    dydt[6] = motion.drag_N / motion.mass_kg;
    // At rest it is about to rise along x.
    dydt[7] = v > 0 ? -(gravity[0]! * y[3]! + gravity[1]! * y[4]! + gravity[2]! * y[5]!) / v : -gravity[0]!;
  }

  pieceMargin(t: number, y: Float64Array): number {
    return this.motion.pieceMargin(t, y);
  }

  crossEdge(t: number, y: Float64Array): void {
    this.motion.crossEdge(t, y);
  }

  choosePiece(t: number, y: Float64Array): void {
    this.motion.choosePiece(t, y);
  }

  piece(): number {
    return this.motion.piece();
  }

  setPiece(code: number): void {
    this.motion.setPiece(code);
  }
}

const DEG = 180 / Math.PI;
/** No flight of this check comes so high or low, m. */
const FAR_m = 1e7;

/** End state, losses and greatest dynamic pressure of the turn; SI and degrees. */
export function checkGravityTurn(published: PublishedGravityTurn): EvidenceOutcome {
  const { inputs, results, printed } = published;
  const { radius_m, standardGravity_mps2: g0, liftoffMass_kg, isp_s, massRatio } = inputs;
  const thrust_N = inputs.thrustToWeight * liftoffMass_kg * g0;
  const flow_kgps = thrust_N / (isp_s * g0);
  const burn_s = (liftoffMass_kg * (1 - 1 / massRatio)) / flow_kgps;
  const still = (height_m: number): number => -EARTH_ROTATION_radps * (radius_m + height_m);
  const motion = new Motion(
    {
      gravity: centralGravity(g0 * radius_m * radius_m),
      figure: sphereFigure(radius_m),
      atmosphere: new ExponentialAtmosphere({
        density0_kgpm3: inputs.seaLevelDensity_kgpm3,
        scaleHeight_m: inputs.scaleHeight_m,
      }),
      wind: new WindProfile([-0.5 * radius_m, FAR_m], [still(-0.5 * radius_m), still(FAR_m)], [0, 0]),
    },
    false,
  );
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
  const drag = compileDrag({
    referenceArea_m2: inputs.area_m2,
    dragCoefficient: { mach: [0], value: [inputs.dragCoefficient], between: 'linear' },
  });
  const system = new StillAirMotion(motion);
  const absolute = new Float64Array(system.dimension).fill(1e-9);
  absolute.fill(1e-5, 0, 3);
  const driver = new Driver(system.dimension, {
    relative: 1e-12,
    absolute,
    longestStep: 10,
    mostSteps: 20_000,
  });
  const y = new Float64Array(system.dimension);
  y[0] = radius_m;
  motion.enter(segment, 0, drag, new FixedLaw(Float64Array.of(1, 0, 0)));
  driver.start(system, 0, y);
  const reached = driver.advanceTo(
    system,
    burn_s,
    [{ direction: 1, value: (_t, state) => state[0]! - radius_m - inputs.pitchover_m }],
    null,
  );
  const pitchover_s = reached === 'event' ? driver.t : Number.NaN;
  const speedThen = driver.y[3]!;
  driver.y[3] = speedThen * Math.sin(inputs.pitchover_deg / DEG);
  driver.y[4] = speedThen * Math.cos(inputs.pitchover_deg / DEG);
  motion.enter(segment, 0, drag, new ZeroAlphaLaw());
  driver.restart(system);
  const steps = new StepStore(system.dimension);
  const flown = driver.advanceTo(system, burn_s, [], steps) === 'reached';
  const end = driver.y;
  const r = Math.hypot(end[0]!, end[1]!);
  const speed = flown ? Math.hypot(end[3]!, end[4]!) : Number.NaN;
  const angle = Math.asin((end[0]! * end[3]! + end[1]! * end[4]!) / (r * speed)) * DEG;

  const rows = new Rows({ source: published.source, status: results.status });
  const grown =
    'a turn magnifies an error at pitchover some 1e5 times, so 1e-12 of the state becomes 1e-6 m/s and 1e-3 m; ten times that';
  const add = (
    quantity: string,
    unit: string,
    theirs: number,
    ours: number,
    tolerance: number,
    why = grown,
  ): void => rows.compare({ quantity, unit, published: theirs, ours, tolerance, why });
  add(
    'length of the burn',
    's',
    results.burn_s,
    burn_s,
    5e-7,
    'a closed form, to half a unit of the digits given',
  );
  add(
    'time of pitchover',
    's',
    results.pitchover_s,
    pitchover_s,
    1e-7,
    'where an event lies is good to some nanoseconds',
  );
  add('speed at the end', 'm/s', results.speed_mps, speed, 1e-5);
  add('flight-path angle at the end', '°', results.flightPathAngle_deg, angle, 1e-6);
  add('distance along the ground', 'm', results.downrange_m, radius_m * Math.atan2(end[1]!, end[0]!), 1e-2);
  add('height at the end', 'm', results.height_m, r - radius_m, 1e-2);
  add('drag loss', 'm/s', results.dragLoss_mps, end[6]!, 1e-5);
  add('gravity loss', 'm/s', results.gravityLoss_mps, end[7]!, 1e-5);
  const state = new Float64Array(system.dimension);
  const slope = new Float64Array(system.dimension);
  const pressureAt = (t: number): number => {
    steps.sample(t, state);
    motion.derivative(t, state, slope);
    return 0.5 * motion.density_kgpm3 * motion.speedAir_mps ** 2;
  };
  const peak_s = findMaximum(pressureAt, 40, 100, 1e-6);
  add(
    'greatest dynamic pressure',
    'Pa',
    results.maxQ_Pa,
    pressureAt(peak_s),
    0.05,
    'half a unit of the digits given',
  );
  add('its time', 's', results.maxQ_s, peak_s, 1e-3, 'a flat peak to the digits given');
  const book = new Rows({ source: published.source, status: printed.status });
  const half = 'half a unit of the last printed digit';
  book.digits('speed at the end, as printed', 'km/s', speed / 1000, printed.speed_kmps, half, 0.5);
  book.digits('drag loss, as printed', 'km/s', end[6]! / 1000, printed.dragLoss_kmps, half, 0.5);
  return outcome(
    'gravity-turn',
    'A textbook’s gravity turn',
    'The equations of motion of all flights, with thrust, drag and losses, on a worked example.',
    [...rows.rows, ...book.rows],
  );
}
