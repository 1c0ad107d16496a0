import { describe, expect, it } from 'vitest';
import {
  EARTH_EQUATORIAL_RADIUS_m,
  EARTH_GM_m3ps2,
  EARTH_ROTATION_radps,
} from '../../../core/constants/physical.ts';
import { propagateKepler } from '../../../core/earth/kepler.ts';
import { OBLATE_GRAVITY } from '../../../core/earth/gravity.ts';
import { compileStudy, PAYLOAD, startValues, type CompiledStudy } from '../../../core/flight/compile.ts';
import { Motion } from '../../../core/flight/motion.ts';
import { recordFlight, type FlightRecord } from '../../../core/flight/record.ts';
import { FixedLaw } from '../../../core/flight/steering/fixed.ts';
import type { Study } from '../../../core/contract/study.ts';
import { Worst } from '../earth/worst.ts';
import { blunt, engines, event, plannedTime_s, r1WithGap, sounding } from './studies.ts';

function fly(study: Study): { compiled: CompiledStudy; record: FlightRecord } {
  const compiled = compileStudy(study);
  return { compiled, record: recordFlight(compiled, startValues(compiled)) };
}

function stateAt(record: FlightRecord, time_s: number, track = 0): Float64Array {
  const { steps } = record.tracks[track]!;
  const y = new Float64Array(steps.dimension);
  steps.sample(time_s, y);
  return y.slice(0, 6);
}

const radius = (y: Float64Array): number => Math.hypot(y[0]!, y[1]!, y[2]!);
const speed = (y: Float64Array): number => Math.hypot(y[3]!, y[4]!, y[5]!);

describe('a vertical rise without air', () => {
  it('is the rocket equation less gravity', () => {
    // From the pole, where neither the ground nor the vertical turns: one dimension.
    const { record } = fly(sounding());
    const c = 300 * 9.80665;
    const m0 = 20_000;
    const flow = 3e5 / c;
    const g = EARTH_GM_m3ps2 / EARTH_EQUATORIAL_RADIUS_m ** 2;
    // Constant gravity: v = c ln(m0/m) − g t, h = c (t − (m/ṁ) ln(m0/m)) − g t²/2.
    const rise = (t: number): { v: number; h: number } => {
      const m = m0 - flow * t;
      const log = Math.log(m0 / m);
      return { v: c * log - g * t, h: c * (t - (m / flow) * log) - (g * t * t) / 2 };
    };
    // Gravity falls by 2 g h / r: δv = ∫ (2 g / r) h dt, and δh its integral, by Simpson's rule on the closed form above.
    const t = 20;
    const n = 400;
    let dv = 0;
    let dh = 0;
    for (let i = 0; i <= n; i++) {
      const s = (i / n) * t;
      const weight = (i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2) * (t / n / 3);
      const a = ((2 * g) / EARTH_EQUATORIAL_RADIUS_m) * rise(s).h;
      dv += weight * a;
      dh += weight * a * (t - s);
    }
    const y = stateAt(record, t);
    // What is left: the second-order change of gravity, 3 g h²/r², 1e-6 m/s² at the end's 1.2 km. It grows with the
    // fourth power of time, so a fifth of it times 20 s, 4e-6 m/s, and a third of that times 10 s, 3e-5 m at most.
    console.log(
      `vertical rise, 20 s: v off by ${(y[5]! - rise(t).v - dv).toExponential(1)} m/s, ` +
        `h by ${(y[2]! - EARTH_EQUATORIAL_RADIUS_m - rise(t).h - dh).toExponential(1)} m (change of gravity: ${dv.toFixed(4)} m/s)`,
    );
    expect(Math.abs(y[5]! - rise(t).v - dv)).toBeLessThan(4e-6);
    expect(Math.abs(y[2]! - EARTH_EQUATORIAL_RADIUS_m - rise(t).h - dh)).toBeLessThan(3e-5);
    expect(Math.hypot(y[0]!, y[1]!, y[3]!, y[4]!)).toBeLessThan(1e-8);
  });
});

describe('coasting between the stages without air', () => {
  const airless = (change: (study: Study) => void = () => undefined): Study =>
    r1WithGap(300, (study) => {
      study.earth.atmosphere = { kind: 'none' };
      change(study);
    });

  it('is an arc of Kepler under central gravity: energy, angular momentum, and every place on it', () => {
    const { compiled, record } = fly(airless());
    const from_s = plannedTime_s(compiled, 'meco');
    const start = stateAt(record, from_s);
    // A step may err by 1e-11 of the radius, 6e-5 m; over so smooth an arc it errs by far less.
    const place = new Worst('coast against Kepler', 'm', 6e-5);
    const velocity = new Worst('coast against Kepler', 'm/s', 1e-7);
    const energy = new Worst('energy over the coast', 'relative', 1e-11);
    const momentum = new Worst('angular momentum over the coast', 'relative', 1e-11);
    const invariants = (y: Float64Array): number[] => [
      0.5 * speed(y) ** 2 - EARTH_GM_m3ps2 / radius(y),
      y[1]! * y[5]! - y[2]! * y[4]!,
      y[2]! * y[3]! - y[0]! * y[5]!,
      y[0]! * y[4]! - y[1]! * y[3]!,
    ];
    const [e0, ...h0] = invariants(start);
    const size = Math.hypot(...h0);
    for (const span_s of [1, 50, 123.4, 200, 299]) {
      const y = stateAt(record, from_s + span_s);
      const kepler = new Float64Array(6);
      expect(propagateKepler(start, span_s, EARTH_GM_m3ps2, kepler).status).toBe('converged');
      place.add(span_s, Math.hypot(y[0]! - kepler[0]!, y[1]! - kepler[1]!, y[2]! - kepler[2]!));
      velocity.add(span_s, Math.hypot(y[3]! - kepler[3]!, y[4]! - kepler[4]!, y[5]! - kepler[5]!));
      const [e, ...h] = invariants(y);
      energy.add(span_s, e! / e0! - 1);
      momentum.add(span_s, Math.hypot(...h.map((each, i) => each - h0[i]!)) / size);
    }
    for (const each of [place, velocity, energy, momentum]) each.report();
  });

  it('keeps energy and the polar part of angular momentum about an oblate Earth, and not the rest', () => {
    const { compiled, record } = fly(
      airless(({ earth }) => {
        earth.gravity = 'j2';
        earth.figure = 'ellipsoid';
      }),
    );
    const from_s = plannedTime_s(compiled, 'meco');
    const energyOf = (y: Float64Array): number =>
      0.5 * speed(y) ** 2 + OBLATE_GRAVITY.potential_Jpkg(y[0]!, y[1]!, y[2]!);
    const polarOf = (y: Float64Array): number => y[0]! * y[4]! - y[1]! * y[3]!;
    const equatorialOf = (y: Float64Array): number => y[1]! * y[5]! - y[2]! * y[4]!;
    const start = stateAt(record, from_s);
    const end = stateAt(record, from_s + 299);
    expect(Math.abs(energyOf(end) / energyOf(start) - 1)).toBeLessThan(1e-10);
    expect(Math.abs(polarOf(end) / polarOf(start) - 1)).toBeLessThan(1e-10);
    // The oblate field's torque, 3 GM J2 a² y z / r⁵, turns the rest: some 10³ to 10⁴ m²/s² over 300 s.
    expect(Math.abs(equatorialOf(end) - equatorialOf(start))).toBeGreaterThan(1e5);
  });

  it('brings the freed booster down on its arc, at height zero', () => {
    const { compiled, record } = fly(airless());
    const track = record.tracks.findIndex((each) => each.id === 'booster');
    const { start_s, end_s, end } = record.tracks[track]!;
    expect(end).toBe('impact');
    expect(start_s).toBeCloseTo(plannedTime_s(compiled, 'separation'), 9);
    const kepler = new Float64Array(6);
    propagateKepler(stateAt(record, start_s, track), end_s - start_s, EARTH_GM_m3ps2, kepler);
    const last = stateAt(record, end_s, track);
    expect(Math.hypot(last[0]! - kepler[0]!, last[1]! - kepler[1]!, last[2]! - kepler[2]!)).toBeLessThan(
      5e-3,
    );
    // The root is that of the interpolant, one order below the step that is then taken again to it: 0.1 mm, the step's
    // own tolerance, is ample.
    expect(Math.abs(radius(last) - EARTH_EQUATORIAL_RADIUS_m)).toBeLessThan(1e-4);
    // It leaves with the stack's state, bit for bit.
    expect([...stateAt(record, start_s, track)]).toEqual([...stateAt(record, start_s)]);
  });
});

describe('forces at one instant', () => {
  const WINDS = { still: [0, 0], east: [30, 0], north: [0, 40] } as const;
  /** At rest on the turning Earth 3 km above 20° north, 10° east; engines off unless told otherwise. */
  function at(
    wind: keyof typeof WINDS,
    drift_mps: readonly [number, number, number] = [0, 0, 0],
  ): {
    motion: Motion;
    slope: Float64Array;
    east: Float64Array;
    north: Float64Array;
    up: Float64Array;
  } {
    const study = sounding({ kind: 'vertical' }, (draft) => {
      draft.earth.atmosphere = {
        kind: 'exponential',
        seaLevelDensity_kgpm3: 1.2,
        scaleHeight_m: 8000,
        pressure_Pa: 50_000,
        soundSpeed_mps: 320,
      };
      draft.vehicle.bodies.body!.engineGroups.main = engines({ exitArea_m2: 0.4 });
      draft.vehicle.aerodynamics = [blunt(['body'], 0.5, 3)];
      const [eastward_mps, northward_mps] = WINDS[wind];
      draft.earth.wind = [
        { height_m: 2000, eastward_mps, northward_mps },
        { height_m: 4000, eastward_mps, northward_mps },
      ];
    });
    const compiled = compileStudy(study);
    const [lat, lon] = [(20 * Math.PI) / 180, (10 * Math.PI) / 180];
    const up = Float64Array.of(Math.cos(lat) * Math.cos(lon), Math.cos(lat) * Math.sin(lon), Math.sin(lat));
    const east = Float64Array.of(-Math.sin(lon), Math.cos(lon), 0);
    const north = Float64Array.of(
      -Math.sin(lat) * Math.cos(lon),
      -Math.sin(lat) * Math.sin(lon),
      Math.cos(lat),
    );
    const y = new Float64Array(12);
    for (let i = 0; i < 3; i++) {
      y[i] = (EARTH_EQUATORIAL_RADIUS_m + 3000) * up[i]!;
      y[3 + i] = drift_mps[0] * east[i]! + drift_mps[1] * north[i]! + drift_mps[2] * up[i]!;
    }
    y[3]! -= EARTH_ROTATION_radps * y[1]!;
    y[4]! += EARTH_ROTATION_radps * y[0]!;
    const motion = new Motion(compiled.setting, true);
    motion.enter(
      compiled.plan.segments[0]!,
      startValues(compiled)[PAYLOAD]!,
      compiled.drags[0]!,
      new FixedLaw(up),
    );
    motion.choosePiece(0, y);
    const slope = new Float64Array(12);
    motion.derivative(0, y, slope);
    return { motion, slope, east, north, up };
  }
  const along = (slope: Float64Array, axis: Float64Array): number =>
    slope[3]! * axis[0]! + slope[4]! * axis[1]! + slope[5]! * axis[2]!;
  /** ½ ρ v² C_D S / m at 3 km. */
  const brake = (v: number): number => (0.5 * 1.2 * Math.exp(-3 / 8) * v * v * 0.5 * 3) / 20_000;

  it('thrust is the vacuum thrust less back-pressure, along the law; gravity pulls down', () => {
    const { motion, slope, up } = at('still');
    expect(motion.thrustNet_N).toBeCloseTo(3e5 - 50_000 * 0.4, 6);
    const g = EARTH_GM_m3ps2 / (EARTH_EQUATORIAL_RADIUS_m + 3000) ** 2;
    expect(along(slope, up)).toBeCloseTo((3e5 - 20_000) / 20_000 - g, 9);
    expect(slope[6]).toBeCloseTo(15, 12);
    expect(slope[9]).toBeCloseTo(1, 12);
    // No wind, no speed: no drag.
    expect(motion.drag_N).toBe(0);
  });

  it('a wind carries what stands still along with it, as fast as the drag formula says', () => {
    const still = at('still');
    const east = at('east');
    const north = at('north');
    expect(along(east.slope, east.east) - along(still.slope, east.east)).toBeCloseTo(brake(30), 10);
    expect(along(east.slope, east.north) - along(still.slope, east.north)).toBeCloseTo(0, 10);
    expect(along(north.slope, north.north) - along(still.slope, north.north)).toBeCloseTo(brake(40), 10);
    expect(along(north.slope, north.east) - along(still.slope, north.east)).toBeCloseTo(0, 10);
    expect(north.motion.mach).toBeCloseTo(40 / 320, 12);
  });

  it('drag brakes against the air, not against the ground', () => {
    // Eastward at 50 m/s over the ground in an east wind of 30 m/s: 20 m/s through the air.
    const { slope, motion, east } = at('east', [50, 0, 0]);
    const without = at('still', [30, 0, 0]);
    expect(motion.speedAir_mps).toBeCloseTo(20, 9);
    expect(motion.drag_N / 20_000).toBeCloseTo(brake(20), 12);
    expect(without.motion.drag_N / 20_000).toBeCloseTo(brake(30), 12);
    // Against its motion; the Coriolis and centrifugal terms are no forces here. A tenth of a millionth is left of 9.8.
    const calm = at('still', [0, 0, 0]);
    expect(along(slope, east) - along(calm.slope, east)).toBeCloseTo(-brake(20), 9);
    // The ledger counts it as a loss, and a push from behind as a gain.
    expect(slope[8]).toBeCloseTo(brake(20), 10);
    expect(at('east', [10, 0, 0]).slope[8]).toBeCloseTo(-brake(20), 10);
  });

  it('a wind is held beyond the heights that the study gives', () => {
    const compiled = compileStudy(
      sounding({ kind: 'vertical' }, (draft) => {
        draft.earth.wind = [
          { height_m: 5000, eastward_mps: 10, northward_mps: -4 },
          { height_m: 9000, eastward_mps: 30, northward_mps: 8 },
        ];
      }),
    );
    const wind = compiled.setting.wind!;
    const at = (height_m: number): [number, number] => {
      wind.evaluate(height_m, wind.pieceAt(height_m));
      return [wind.eastward_mps, wind.northward_mps];
    };
    expect(at(0)).toEqual([10, -4]);
    expect(at(7000)).toEqual([20, 2]);
    expect(at(200_000)).toEqual([30, 8]);
  });
});

describe('frozen pieces', () => {
  it('come back from their code for long drag tables, many layers and winds', () => {
    const study = r1WithGap(0, (draft) => {
      const mach = Array.from({ length: 300 }, (_, i) => i / 12);
      for (const each of draft.vehicle.aerodynamics) {
        each.dragCoefficient = { mach, value: mach.map((m) => 0.3 + 0.1 * Math.sin(m)), between: 'linear' };
      }
      draft.earth.wind = Array.from({ length: 200 }, (_, i) => ({
        height_m: 500 * i,
        eastward_mps: i % 7,
        northward_mps: i % 5,
      }));
      event(draft, 'kick').name = 'kick';
    });
    const compiled = compileStudy(study);
    const motion = new Motion(compiled.setting, false);
    motion.enter(compiled.plan.segments[0]!, 0, compiled.drags[0]!, new FixedLaw(Float64Array.of(1, 0, 0)));
    const y = new Float64Array(6);
    for (const [height_m, v] of [
      [100, 10],
      [30_500, 2000],
      [85_000, 6900],
      [400_000, 7700],
    ] as const) {
      y.set([EARTH_EQUATORIAL_RADIUS_m + height_m, 0, 0, v, 0, 0]);
      motion.choosePiece(0, y);
      const code = motion.piece();
      const before = new Float64Array(6);
      motion.derivative(0, y, before);
      const other = new Float64Array(6);
      motion.setPiece(0);
      motion.setPiece(code);
      expect(motion.piece()).toBe(code);
      motion.derivative(0, y, other);
      expect([...other]).toEqual([...before]);
      expect(code).toBeLessThan(2 ** 31);
    }
  });
});
