/** Published checks of coming down: stagnation heating, a ballistic entry, a range without air, a landing burn. */
import { G0_mps2 } from '../constants/physical.ts';
import type { Atmosphere } from '../earth/atmosphere/atmosphere.ts';
import { ExponentialAtmosphere, NoAtmosphere } from '../earth/atmosphere/simple.ts';
import { sphereFigure } from '../earth/figure.ts';
import { centralGravity } from '../earth/gravity.ts';
import { Motion } from '../flight/motion.ts';
import type { Segment } from '../flight/planTypes.ts';
import { FixedLaw } from '../flight/steering/fixed.ts';
import { findMaximum } from '../math/extrema.ts';
import { StepStore } from '../ode/dense.ts';
import { Driver, type Monitor } from '../ode/driver.ts';
import { stagnationHeating_Wpm2 } from '../recovery/heating.ts';
import { compileDrag } from '../vehicle/drag.ts';
import { outcome, Rows, type EvidenceOutcome } from './rows.ts';

interface Sourced {
  readonly source: string;
  readonly status: string;
}

export interface PublishedEntry {
  readonly suttonGraves: Sourced & {
    readonly check: {
      readonly density_kgpm3: number;
      readonly noseRadius_m: number;
      readonly speed_mps: number;
      readonly heatFlux_Wpm2: string;
    };
  };
  readonly allenEggers: Sourced & {
    readonly groundDensity_kgpm3: number;
    readonly scaleHeight_m: number;
    readonly massOverDragArea_kgpm2: number;
    readonly entrySpeed_mps: number;
    readonly peakDeceleration_g: string;
    readonly peakHeight_m: string;
    readonly speedAtPeak_mps: string;
  };
  readonly vacuumRange: Sourced & {
    readonly speed_mps: number;
    readonly climb_deg: number;
    readonly radius_m: number;
    readonly gravitationalParameter_m3ps2: number;
    readonly range_m: string;
  };
  readonly landing: Sourced & {
    readonly thrust_mps2: number;
    readonly height_m: number;
    readonly radius_m: number;
    readonly gravitationalParameter_m3ps2: number;
    readonly speed_mps: number;
  };
}

/** Where an entry starts: 4e-9 of the ground's density is left. m */
const ENTRY_m = 130_000;
const DRAG = compileDrag({
  referenceArea_m2: 1,
  dragCoefficient: { mach: [0], value: [1], between: 'linear' },
});

/** A body of one square metre of drag area over a sphere that does not turn; thrust along z. SI. */
function body(
  radius_m: number,
  gm_m3ps2: number,
  atmosphere: Atmosphere,
  mass_kg: number,
  thrust_N: number,
): Motion {
  const motion = new Motion(
    {
      gravity: centralGravity(gm_m3ps2),
      figure: sphereFigure(radius_m),
      rotation_radps: 0,
      atmosphere,
      wind: null,
    },
    false,
  );
  const segment: Segment = {
    start_s: 0,
    end_s: 1e4,
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
  };
  motion.enter(segment, 0, DRAG, new FixedLaw(Float64Array.from([0, 0, 1])));
  return motion;
}

/** Flies until the monitor fires, keeping the steps; the state then. SI. */
function flyUntil(
  motion: Motion,
  start: readonly number[],
  monitor: Monitor,
  steps: StepStore,
): Float64Array {
  const driver = new Driver(6, {
    relative: 1e-12,
    absolute: new Float64Array(6).fill(1e-9),
    longestStep: 1,
    mostSteps: 100_000,
  });
  driver.start(motion, 0, Float64Array.from(start));
  driver.advanceTo(motion, 1e4, [monitor], steps);
  return driver.y;
}

/** Stagnation heating, Allen and Eggers' entry, the range without air and a landing burn against published numbers. SI. */
export function checkEntry(published: PublishedEntry): EvidenceOutcome {
  const rows = [
    ...heatingRows(published),
    ...entryRows(published),
    ...rangeRows(published),
    ...landingRows(published),
  ];
  const about = 'What a body meets that comes down: heating, deceleration, range, and a burn that stops it.';
  return outcome('coming-down', 'coming down', about, rows);
}

function heatingRows({ suttonGraves: own }: PublishedEntry): Rows['rows'] {
  const rows = new Rows(own);
  const { density_kgpm3, noseRadius_m, speed_mps, heatFlux_Wpm2 } = own.check;
  const ours = stagnationHeating_Wpm2(density_kgpm3, speed_mps, noseRadius_m);
  rows.digits('stagnation heating at 1 km/s', 'W/m²', ours, heatFlux_Wpm2, 'a product of printed numbers');
  return rows.rows;
}

function entryRows({ allenEggers: own }: PublishedEntry): Rows['rows'] {
  const rows = new Rows(own);
  const radius_m = 6_371_000;
  const air = new ExponentialAtmosphere({
    density0_kgpm3: own.groundDensity_kgpm3,
    scaleHeight_m: own.scaleHeight_m,
    pressure_Pa: 0,
    soundSpeed_mps: 340,
  });
  // The theory leaves gravity out; of this much nobody feels anything.
  const motion = body(radius_m, 1, air, own.massOverDragArea_kgpm2, 0);
  const steps = new StepStore(6);
  const ground: Monitor = { direction: -1, value: (_t, y) => y[2]! - radius_m };
  flyUntil(motion, [0, 0, radius_m + ENTRY_m, 0, 0, -own.entrySpeed_mps], ground, steps);
  const y = new Float64Array(6);
  const slope = new Float64Array(6);
  const slowing_mps2 = (t: number): number => {
    steps.sample(t, y);
    motion.choosePiece(t, y);
    motion.derivative(t, y, slope);
    return motion.drag_N / motion.mass_kg;
  };
  const peak_s = findMaximum(slowing_mps2, steps.start, steps.end, 1e-6);
  const why = 'the entry starts where 4e-9 of the ground’s density is left, not in nothing';
  rows.compare({
    quantity: 'greatest deceleration',
    unit: 'g',
    published: own.peakDeceleration_g,
    ours: slowing_mps2(peak_s) / G0_mps2,
    tolerance: 1e-4,
    why,
  });
  rows.compare({
    quantity: 'height there',
    unit: 'm',
    published: own.peakHeight_m,
    ours: motion.height_m,
    tolerance: 5,
    why,
  });
  rows.compare({
    quantity: 'speed there',
    unit: 'm/s',
    published: own.speedAtPeak_mps,
    ours: motion.speedAir_mps,
    tolerance: 0.5,
    why: `${why}, and the peak is flat`,
  });
  return rows.rows;
}

function rangeRows({ vacuumRange: own }: PublishedEntry): Rows['rows'] {
  const rows = new Rows(own);
  const { radius_m, speed_mps } = own;
  const climb = (own.climb_deg * Math.PI) / 180;
  const motion = body(radius_m, own.gravitationalParameter_m3ps2, new NoAtmosphere(), 1000, 0);
  const ground: Monitor = {
    direction: -1,
    value: (_t, y) => Math.hypot(y[0]!, y[1]!, y[2]!) - radius_m,
  };
  const start = [radius_m, 0, 0, speed_mps * Math.sin(climb), speed_mps * Math.cos(climb), 0];
  const y = flyUntil(motion, start, ground, new StepStore(6));
  rows.compare({
    quantity: 'range without air over a sphere',
    unit: 'm',
    published: own.range_m,
    ours: radius_m * Math.atan2(y[1]!, y[0]!),
    tolerance: 1e-4,
    why: 'rounding of a position of 6.4e6 m, and an integration to 1e-12',
  });
  return rows.rows;
}

function landingRows({ landing: own }: PublishedEntry): Rows['rows'] {
  const rows = new Rows(own);
  const { radius_m } = own;
  const mass_kg = 1000;
  const motion = body(
    radius_m,
    own.gravitationalParameter_m3ps2,
    new NoAtmosphere(),
    mass_kg,
    mass_kg * own.thrust_mps2,
  );
  const rest: Monitor = { direction: 1, value: (_t, y) => y[5]! };
  const start = [0, 0, radius_m + own.height_m, 0, 0, -own.speed_mps];
  const y = flyUntil(motion, start, rest, new StepStore(6));
  rows.compare({
    quantity: 'height at which a constant thrust brings a fall to rest',
    unit: 'm',
    published: 0,
    ours: y[2]! - radius_m,
    tolerance: 1e-6,
    why: 'rounding of a position of 6.4e6 m',
  });
  return rows.rows;
}
