import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { EARTH_EQUATORIAL_RADIUS_m, EARTH_ROTATION_radps } from '../../../core/constants/physical.ts';
import { ExponentialAtmosphere, NoAtmosphere } from '../../../core/earth/atmosphere/simple.ts';
import type { Atmosphere } from '../../../core/earth/atmosphere/atmosphere.ts';
import { sphereFigure } from '../../../core/earth/figure.ts';
import { centralGravity, type Gravity } from '../../../core/earth/gravity.ts';
import { WindProfile } from '../../../core/earth/wind.ts';
import { compileStudy, recompile, startValues, type CompiledStudy } from '../../../core/flight/compile.ts';
import { readLedger, type Ledger } from '../../../core/flight/ledger.ts';
import { Motion } from '../../../core/flight/motion.ts';
import type { Segment } from '../../../core/flight/planTypes.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { FixedLaw } from '../../../core/flight/steering/fixed.ts';
import { StepStore } from '../../../core/ode/dense.ts';
import { Driver } from '../../../core/ode/driver.ts';
import { compileDrag } from '../../../core/vehicle/drag.ts';
import { Worst } from '../earth/worst.ts';
import { blunt, event, r1WithGap } from './studies.ts';

const LOSSES = ['gravity_mps', 'drag_mps', 'backPressure_mps', 'steering_mps', 'centrifugal_mps'] as const;

interface Case {
  gravity?: Gravity;
  atmosphere?: Atmosphere;
  wind?: WindProfile;
  /** Constant, N; along `aim`. */
  thrust_N?: number;
  aim?: readonly [number, number, number];
  exitArea_m2?: number;
  position_m?: readonly [number, number, number];
  /** Against the turning Earth. */
  velocity_mps: readonly [number, number, number];
  seconds: number;
}

const NO_GRAVITY = centralGravity(1e-30);
/** Above the pole, where the ground does not move. */
const ABOVE_POLE = [0, 0, EARTH_EQUATORIAL_RADIUS_m + 1000] as const;

/** Flies 1000 kg of constant mass by the equations of motion alone; the ledger and how much speed was gained. */
function fly(of: Case): { ledger: Ledger; before_mps: number } {
  const setting = {
    gravity: of.gravity ?? NO_GRAVITY,
    figure: sphereFigure(),
    atmosphere: of.atmosphere ?? new NoAtmosphere(),
    wind: of.wind ?? null,
  };
  const motion = new Motion(setting, true);
  const segment: Segment = {
    start_s: 0,
    end_s: of.seconds,
    bodies: [0],
    arrangement: 0,
    thrust_N: of.thrust_N ?? 0,
    thrustRate_Nps: 0,
    exitArea_m2: of.exitArea_m2 ?? 0,
    exitAreaRate_m2ps: 0,
    flow_kgps: 0,
    flowRate_kgps2: 0,
    mass_kg: 1000,
    propellant_kg: [],
    burns: [],
    lawEvent: -1,
    held: false,
    fired: [],
  };
  motion.enter(
    segment,
    0,
    compileDrag(blunt(['one'], 0.5, 2)),
    new FixedLaw(Float64Array.from(of.aim ?? [0, 0, 1])),
  );
  const y = new Float64Array(12);
  y.set(of.position_m ?? ABOVE_POLE);
  y.set(of.velocity_mps, 3);
  y[3]! -= EARTH_ROTATION_radps * y[1]!;
  y[4]! += EARTH_ROTATION_radps * y[0]!;
  const absolute = new Float64Array(12).fill(1e-10);
  const driver = new Driver(12, { relative: 1e-12, absolute, longestStep: 10, mostSteps: 10_000 });
  driver.start(motion, 0, y);
  const steps = new StepStore(12);
  expect(driver.advanceTo(motion, of.seconds, [], steps)).toBe('reached');
  const ledger = readLedger({
    id: 'one',
    bodies: [0],
    segments: [segment],
    steps,
    start_s: 0,
    end_s: of.seconds,
    end: 'insertion',
    extra_kg: 0,
    heldAim: null,
    heldTurn: null,
  });
  return { ledger, before_mps: Math.hypot(...of.velocity_mps) };
}

/** That one loss stands alone: the speed changes by just as much, with the sign of a loss. */
function only(of: Case, name: (typeof LOSSES)[number], expected_mps: number, tolerance_mps: number): void {
  const { ledger, before_mps } = fly(of);
  const gained = ledger.speedGained_mps - before_mps;
  expect(Math.abs(ledger[name] - expected_mps), name).toBeLessThan(tolerance_mps);
  expect(Math.abs(gained - ledger.ideal_mps + expected_mps), 'speed gained').toBeLessThan(tolerance_mps);
  for (const other of LOSSES)
    if (other !== name) expect(Math.abs(ledger[other]), other).toBeLessThan(tolerance_mps);
}

describe('each term of the ledger alone', () => {
  // Rounding: v is of the order 100 m/s and the integrator works at 1e-12. At the pole ω² x times a few metres of sideways
  // way is 1e-8 m/s² at most, over ten seconds 1e-7.
  const NEAR = 1e-9;

  it('the ideal velocity is the integral of vacuum thrust over mass', () => {
    const { ledger, before_mps } = fly({ thrust_N: 20_000, velocity_mps: [0, 0, 50], seconds: 10 });
    expect(ledger.ideal_mps).toBeCloseTo(200, 9);
    expect(ledger.speedGained_mps - before_mps).toBeCloseTo(200, 9);
    for (const name of LOSSES) expect(Math.abs(ledger[name])).toBeLessThan(NEAR);
  });

  it('gravity is lost on the way up and won on the way down', () => {
    // Uniform to 4e-9 over the way: a field of 10 m/s² at this radius.
    const gravity = centralGravity(10 * ABOVE_POLE[2] ** 2);
    // 400 m up changes gravity by 2 h/r = 1.3e-4.
    only({ gravity, velocity_mps: [0, 0, 100], seconds: 4 }, 'gravity_mps', 40, 5e-3);
    only({ gravity, velocity_mps: [0, 0, -100], seconds: 4 }, 'gravity_mps', -40, 5e-3);
  });

  it('drag takes speed away, and gives it back in a wind from behind', () => {
    const atmosphere = new ExponentialAtmosphere({ density0_kgpm3: 1, scaleHeight_m: 1e12 });
    // v' = −k v² with k = ½ ρ C_D S / m = 5e-4 1/m: v = v0 / (1 + k v0 t).
    only({ atmosphere, velocity_mps: [0, 0, 100], seconds: 10 }, 'drag_mps', 100 - 100 / 1.5, 1e-7);
    // At rest relative to the ground in a wind of 20 m/s it gains what the air at first takes off a speed of 20 m/s.
    const wind = new WindProfile([-1e6, 1e6], [20, 20], [0, 0]);
    const equator = [EARTH_EQUATORIAL_RADIUS_m + 1000, 0, 0] as const;
    const { ledger } = fly({ atmosphere, wind, position_m: equator, velocity_mps: [0, 1, 0], seconds: 1 });
    expect(ledger.drag_mps).toBeLessThan(0);
    // k (19 m/s)² for one second, falling as it picks up speed: −0.18 m/s, good to 2 k 19 × 0.18 / 2.
    expect(Math.abs(ledger.drag_mps + 5e-4 * 361)).toBeLessThan(2e-3);
  });

  it('back-pressure takes pressure times exit area off the thrust', () => {
    const atmosphere = new ExponentialAtmosphere({
      density0_kgpm3: 0,
      scaleHeight_m: 8000,
      pressure_Pa: 1000,
    });
    only(
      { atmosphere, thrust_N: 20_000, exitArea_m2: 1.5, velocity_mps: [0, 0, 10], seconds: 10 },
      'backPressure_mps',
      15,
      NEAR,
    );
  });

  it('steering loses nothing along the velocity, all of it across, twice it against', () => {
    // For a moment: across, the velocity turns into the thrust by (0.1 m/s / 1000 m/s)² / 2 of the thrust's own.
    const push = { thrust_N: 1000, seconds: 0.1, velocity_mps: [0, 0, 1000] } as const;
    only({ ...push, aim: [0, 0, 1] }, 'steering_mps', 0, NEAR);
    only({ ...push, aim: [0, 0, -1] }, 'steering_mps', 0.2, NEAR);
    only({ ...push, aim: [1, 0, 0] }, 'steering_mps', 0.1, 1e-5);
    only({ ...push, aim: [Math.sqrt(0.75), 0, 0.5] }, 'steering_mps', 0.05, 1e-5);
  });

  it('the centrifugal term is a gain on the way out', () => {
    // With no force at all the inertial path is straight: the speed against the turning ground grows all the same.
    const position_m = [EARTH_EQUATORIAL_RADIUS_m + 1000, 0, 0] as const;
    const { ledger, before_mps } = fly({ position_m, velocity_mps: [100, 0, 0], seconds: 10 });
    // ω² r for ten seconds along the way out; the Coriolis term turns it aside by 2 ω t = 1.5e-3 rad.
    const expected = EARTH_ROTATION_radps ** 2 * position_m[0] * 10;
    expect(Math.abs(ledger.centrifugal_mps + expected)).toBeLessThan(1e-4);
    expect(ledger.speedGained_mps - before_mps).toBeCloseTo(-ledger.centrifugal_mps, 8);
    for (const name of LOSSES) if (name !== 'centrifugal_mps') expect(ledger[name]).toBeCloseTo(0, 9);
  });
});

function ledgerOf(compiled: CompiledStudy): Ledger | null {
  return recordFlight(compiled, startValues(compiled)).ledger;
}

describe('the ledger of a flight', () => {
  it('closes to a millionth and states what the turning Earth adds', () => {
    // What the design promises. Below 1 mm/s the vertical stands in for the direction: nothing against 9 km/s.
    const closure = new Worst('ledger closure', 'relative to the ideal velocity', 1e-6);
    for (const gap_s of [0, 5, -2]) {
      const compiled = compileStudy(r1WithGap(gap_s));
      const record = recordFlight(compiled, startValues(compiled));
      const ledger = record.ledger!;
      closure.add(`R1, gap ${gap_s} s`, ledger.closure_mps / ledger.ideal_mps);
      const insertion = record.log.find((entry) => entry.id === 'insertion')!;
      expect(ledger.speedGained_mps).toBeCloseTo(insertion.speedRelative_mps, 6);
      expect(ledger.speedGained_mps + ledger.relativeToInertial_mps).toBeCloseTo(
        insertion.speedInertial_mps,
        6,
      );
      // Eastward at 16 degrees: nearly all of the ground's speed, 0.465 km/s times the cosine of the latitude.
      expect(ledger.relativeToInertial_mps).toBeGreaterThan(430);
      expect(ledger.relativeToInertial_mps).toBeLessThan(480);
      for (const name of ['gravity_mps', 'drag_mps', 'backPressure_mps', 'steering_mps'] as const) {
        expect(ledger[name]).toBeGreaterThan(0);
      }
      expect(ledger.centrifugal_mps).toBeLessThan(0);
    }
    closure.report();
  });

  it('has the ideal velocity of the rocket equation', () => {
    const ledger = ledgerOf(compileStudy(r1WithGap(5)))!;
    // Both burns in full, payload 33 t.
    const ideal = 9.80665 * (338 * Math.log(2163 / 801) + 366 * Math.log(565 / 107));
    expect(Math.abs(ledger.ideal_mps - ideal)).toBeLessThan(1e-5);
  });

  it('closes for vehicles drawn at random, in wind, over an oblate Earth', () => {
    const closure = new Worst('ledger closure of random vehicles', 'relative to the ideal velocity', 1e-6);
    const windy = r1WithGap(0, ({ earth }) => {
      earth.gravity = 'j2';
      earth.figure = 'ellipsoid';
      earth.wind = [
        { height_m: 0, eastward_mps: -8, northward_mps: 3 },
        { height_m: 11_000, eastward_mps: 45, northward_mps: -20 },
        { height_m: 25_000, eastward_mps: 0, northward_mps: 0 },
      ];
    });
    const base = compileStudy(windy);
    const part = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
    let flown = 0;
    fc.assert(
      fc.property(
        fc.record({
          kick_deg: part(1.2, 2.3),
          a: part(0.8, 1.2),
          azimuth_deg: part(0, 360),
          latitude_deg: part(-60, 60),
          gap_s: part(-3, 12),
          ramp_s: part(0, 3),
          thrust: part(1, 1.15),
          drag: part(0.2, 3),
        }),
        (of) => {
          const study = structuredClone(windy);
          study.site.latitude_deg = of.latitude_deg;
          study.sequence.launchAzimuth_deg = of.azimuth_deg;
          const kick = event(study, 'kick').action;
          const tangent = event(study, 'tangent').action;
          if (kick.kind !== 'steer' || kick.law.kind !== 'kick') throw new Error('no kick');
          if (tangent.kind !== 'steer' || tangent.law.kind !== 'linearTangent')
            throw new Error('no tangent law');
          kick.law.angle_deg = of.kick_deg;
          tangent.law.a = of.a;
          event(study, 'ignition').trigger = { kind: 'gap', cutoff: 'meco', gap_s: of.gap_s };
          const main = study.vehicle.bodies.booster!.engineGroups.main!;
          main.thrustVacuum_N *= of.thrust;
          main.shutDown = { delay_s: 0.1, ramp_s: of.ramp_s };
          study.vehicle.aerodynamics.forEach((each) => (each.referenceArea_m2 *= of.drag));
          const compiled = recompile(base, study);
          const { ledger, status } = recordFlight(compiled, startValues(compiled));
          if (ledger === null) {
            // Not every draw reaches insertion; what does not says so.
            expect(status.code).toBe('impact');
            return;
          }
          flown += 1;
          closure.add(JSON.stringify(of), ledger.closure_mps / ledger.ideal_mps);
        },
      ),
      { seed: 3, numRuns: 30 },
    );
    closure.report();
    expect(flown).toBeGreaterThan(20);
  });
});
