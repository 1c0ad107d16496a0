import { Solver } from 'odex';
import { describe, expect, it } from 'vitest';
import { EARTH_GM_m3ps2, EARTH_J2, EARTH_ROTATION_radps, G0_mps2 } from '../../../core/constants/physical.ts';
import { Us1976Atmosphere } from '../../../core/earth/atmosphere/us1976.ts';
import { cartesianToGeodetic, eastNorthUp, geodeticToCartesian } from '../../../core/earth/ellipsoid.ts';
import { RECORD_ACCURACY, SOLVE_ACCURACY } from '../../../core/flight/accuracy.ts';
import { readTouchdown, ReturnEngine } from '../../../core/recovery/engine.ts';
import { solveReturn, type ReturnOutcome } from '../../../core/solve/return.ts';
import { heavyWith, parted, type Parted } from '../recovery/studies.ts';

const cache = new Map<string, Parted & { outcome: ReturnOutcome }>();
function solved(id: 'downrange' | 'to-site') {
  if (!cache.has(id)) {
    const own = parted(
      heavyWith(id, () => null),
      id,
    );
    cache.set(id, { ...own, outcome: solveReturn(own.compiled, own.start) });
  }
  return cache.get(id)!;
}

const both = ['downrange', 'to-site'] as const;

describe('a return solved alone', () => {
  it.each(both)('lands without a guess, %s', (id) => {
    const { compiled, start, outcome } = solved(id);
    expect(outcome.status).toBe('converged');
    // Flown again more finely than it was solved.
    const engine = new ReturnEngine(compiled, RECORD_ACCURACY);
    expect(engine.fly(outcome.values, start)).toBe('flown');
    const touchdown = { miss_m: new Float64Array(3), velocity_mps: new Float64Array(3) };
    readTouchdown(compiled, engine.endTime_s, engine.end, touchdown);
    const miss = id === 'downrange' ? Math.abs(touchdown.miss_m[2]!) : Math.hypot(...touchdown.miss_m);
    console.log(
      `${id}: ${miss.toExponential(1)} m, ${Math.hypot(...touchdown.velocity_mps).toExponential(1)} m/s`,
    );
    // What a landing may miss by.
    expect(miss).toBeLessThan(5);
    expect(Math.hypot(...touchdown.velocity_mps)).toBeLessThan(1);
  });

  it.each(both)('touches down where another integrator with its own equations does, %s', (id) => {
    const { compiled, start, outcome } = solved(id);
    const engine = new ReturnEngine(compiled, RECORD_ACCURACY);
    engine.fly(outcome.values, start);
    const end = flownByOdex(engine, start.state);
    const away = Math.hypot(...[0, 1, 2].map((i) => end[i]! - engine.end[i]!));
    const faster = Math.hypot(...[3, 4, 5].map((i) => end[i]! - engine.end[i]!));
    console.log(`${id} by odex: ${away.toExponential(1)} m, ${faster.toExponential(1)} m/s away`);
    // The kinks of the drag table and the air's layers fall inside its steps.
    expect(away).toBeLessThan(1);
    expect(faster).toBeLessThan(0.1);
  });

  it.each(both)('stands upright where it touches down, %s', (id) => {
    const { compiled, start, outcome } = solved(id);
    const engine = new ReturnEngine(compiled, RECORD_ACCURACY);
    engine.fly(outcome.values, start);
    const aim = new Float64Array(3);
    const law = engine.lawOf(engine.legs.at(-1)!);
    law.point(engine.endTime_s, aim, engine.end);
    const geodetic = { latitude_rad: 0, longitude_rad: 0, height_m: 0 };
    cartesianToGeodetic(engine.end[0]!, engine.end[1]!, engine.end[2]!, geodetic);
    const basis = new Float64Array(9);
    eastNorthUp(geodetic.latitude_rad, geodetic.longitude_rad, basis);
    const away = Math.hypot(...[0, 1, 2].map((i) => aim[i]! - basis[6 + i]!));
    // It leans by three times the square of the 1 m/s that a landing may have, over 20 m/s; the figure's normal is good to 1e-6.
    expect(away).toBeLessThan(3 / 400);
    // And it did lean before: there was something to close.
    const landing = engine.legs.findIndex((leg) => leg.phase === 'landing');
    const first = engine.states.slice(6 * landing, 6 * landing + 6);
    law.point(engine.times_s[landing]!, aim, first);
    cartesianToGeodetic(first[0]!, first[1]!, first[2]!, geodetic);
    eastNorthUp(geodetic.latitude_rad, geodetic.longitude_rad, basis);
    expect(Math.hypot(...[0, 1, 2].map((i) => aim[i]! - basis[6 + i]!))).toBeGreaterThan(0.05);
  });

  it.each(both)('accounts for its propellant and keeps its limit, %s', (id) => {
    const { compiled, start, outcome } = solved(id);
    const engine = new ReturnEngine(compiled, SOLVE_ACCURACY);
    engine.fly(outcome.values, start);
    const seconds = engine.legs.map((_leg, i) => engine.times_s[i + 1]! - engine.times_s[i]!);
    const burned = engine.legs.reduce((sum, leg, i) => sum + engine.burned_kg(leg, seconds[i]!), 0);
    const tailOff = engine.number('landingThrottle') * compiled.landingTailOff_kg;
    // Sums of the same numbers in another order.
    expect(burned + tailOff).toBeCloseTo(outcome.used_kg, 6);
    expect(engine.masses_kg.at(-1)! + burned).toBeCloseTo(start.bare_kg + outcome.reserve_kg, 6);
    // By hand: ten seconds of two engines at 1.94 MN and 342 s are 11,569 kg at full.
    const landing = engine.legs.findIndex((leg) => leg.phase === 'landing' && leg.end.kind === 'after');
    expect(engine.burned_kg(engine.legs[landing]!, 10)).toBeCloseTo(
      (outcome.values[compiled.at.landingThrottle]! * 10 * 2 * 1.94e6) / (342 * G0_mps2),
      6,
    );
    // The peak is held to the solve's tolerance of a millionth of the limit.
    for (const peak of engine.peaks.peaks) expect(peak.value).toBeLessThan(70_000 * (1 + 2e-6));
    expect(outcome.binding.map((each) => (each.kind === 'number' ? each.at : each.phase)).sort()).toEqual([
      'descent',
      'entry',
      'upper',
    ]);
  });

  it('takes the reserve that it names, with its margin', () => {
    const { outcome } = solved('to-site');
    // The solve's tolerance: 1e-6 of a tonne.
    expect(Math.abs(1.03 * outcome.used_kg - outcome.reserve_kg)).toBeLessThan(2e-3);
  });

  it('comes to the same from its own answer, and from another guess', () => {
    const { compiled, start, outcome } = solved('downrange');
    const values = Float64Array.from(outcome.values);
    values[compiled.at.landingHeight]! *= 1.05;
    values[compiled.at.entryBurn]! *= 0.9;
    values[compiled.at.leanEastStart]! += 0.1;
    const { memory: own } = outcome;
    const other = solveReturn(compiled, start, { memory: { values, free: [], warm: own!.warm } });
    expect(other.status).toBe('converged');
    // The propellant errs with the square of the KKT residual; a gram in 70 t.
    expect(Math.abs(other.used_kg - outcome.used_kg)).toBeLessThan(0.05);
  });

  it('says by how much a reserve falls short', () => {
    const { compiled, start } = parted(
      heavyWith('to-site', (plan) => (plan.reserve = { kind: 'given' })),
      'to-site',
    );
    const outcome = solveReturn(compiled, start);
    expect(outcome.status).toBe('reserveFallsShort');
    expect(outcome.kept_kg).toBe(88_000);
    expect(outcome.reserve_kg).toBeGreaterThan(150_000);
    expect(outcome.message).toContain('88.0 t');
  });

  it('says when the landing engines are too weak', () => {
    const { compiled, start } = parted(
      heavyWith(
        'downrange',
        (plan) => (plan.landing = { engines: [{ group: 'staging', engines: 1 }], margin: 0.5 }),
      ),
      'downrange',
    );
    const outcome = solveReturn(compiled, start);
    expect(outcome.status).toBe('cannotLand');
    expect(outcome.used_kg).toBeNaN();
  });

  it('lands with engines whose least thrust exceeds the weight', () => {
    const { compiled, start } = parted(
      heavyWith(
        'downrange',
        (plan) => (plan.landing = { engines: [{ group: 'main', engines: 3 }], margin: 0 }),
      ),
      'downrange',
    );
    // 0.6 of three engines.
    expect(0.6 * 3 * 1.94e6).toBeGreaterThan(start.bare_kg * G0_mps2);
    expect(solveReturn(compiled, start).status).toBe('converged');
  });
});

/** Flies the legs of an engine's flight again with ODEX and equations of motion written out here. */
function flownByOdex(engine: ReturnEngine, start: Float64Array): number[] {
  const { compiled } = engine;
  const air = new Us1976Atmosphere();
  const a = 6378137;
  const geodetic = { latitude_rad: 0, longitude_rad: 0, height_m: 0 };
  const basis = new Float64Array(9);
  const { mach: nodes, value: table } = compiled.plan.aerodynamics!.dragCoefficient;
  const own = compiled.study.study.vehicle.aerodynamics.find((each) => each.bodies.join() === 'booster')!;
  const between = (xs: number[], ys: number[], x: number): number => {
    if (x >= xs.at(-1)!) return ys.at(-1)!;
    const i = xs.findIndex((node) => node > x);
    return ys[i - 1]! + ((ys[i]! - ys[i - 1]!) * (x - xs[i - 1]!)) / (xs[i]! - xs[i - 1]!);
  };
  let y = [...start];
  engine.legs.forEach((leg, index) => {
    const t0 = engine.times_s[index]!;
    const t1 = engine.times_s[index + 1]!;
    if (!(t1 > t0)) return;
    const share = leg.throttled ? engine.number('landingThrottle') : 1;
    const sum = (pick: (burn: (typeof leg.burns)[number]) => number): number =>
      share * leg.burns.reduce((total, burn) => total + pick(burn), 0);
    const landingStart = engine.times_s[engine.legs.findIndex((each) => each.phase === 'landing')]!;
    const aimed = engine.lawOf(leg);
    const solver = new Solver(6);
    solver.absoluteTolerance = [1e-4, 1e-4, 1e-4, 1e-7, 1e-7, 1e-7];
    solver.relativeTolerance = 1e-11;
    solver.maxSteps = 100_000;
    solver.maxStepSize = 2;
    const result = solver.solve(
      (t, s) => {
        const [x = 0, yy = 0, z = 0, vx = 0, vy = 0, vz = 0] = s;
        const r = Math.hypot(x, yy, z);
        cartesianToGeodetic(x, yy, z, geodetic);
        const h = geodetic.height_m;
        air.evaluate(h, air.pieceAt(h));
        const w = [vx + EARTH_ROTATION_radps * yy, vy - EARTH_ROTATION_radps * x, vz];
        const speed = Math.hypot(...w);
        const mach = speed / air.soundSpeed_mps;
        const drag = leg.tailFirst
          ? 52.81 * between(nodes, table, mach)
          : own.referenceArea_m2 * between(own.dragCoefficient.mach, own.dragCoefficient.value, mach);
        const dt = t - t0;
        const thrust =
          sum((burn) => burn.thrust_N + dt * burn.thrustRate_Nps) -
          air.pressure_Pa * (leg.exitArea_m2 + dt * leg.exitAreaRate_m2ps);
        const mass =
          engine.masses_kg[index]! - sum((burn) => dt * (burn.flow_kgps + 0.5 * dt * burn.flowRate_kgps2));
        let aim = w.map((each) => -each / speed);
        if (leg.phase === 'boostback') {
          const out = new Float64Array(3);
          aimed.point(t, out, Float64Array.from(s));
          aim = [...out];
        } else if (leg.phase === 'landing') {
          // Leaning tangents, linear in time over the whole landing, that fade below 20 m/s over the ground.
          const part = (t - landingStart) / (engine.endTime_s - landingStart);
          const fade = 1 - Math.max(0, 1 - (speed / 20) ** 2) ** 3;
          const lean = (from: 'East' | 'North'): number =>
            fade * (engine.number(`lean${from}Start`) * (1 - part) + engine.number(`lean${from}End`) * part);
          eastNorthUp(geodetic.latitude_rad, geodetic.longitude_rad, basis);
          const [e, n, u] = [0, 3, 6].map((k) => [...basis.subarray(k, k + 3)]);
          aim = u!.map((each, i) => each + lean('East') * e![i]! + lean('North') * n![i]!);
          const length = Math.hypot(...aim);
          aim = aim.map((each) => each / length);
        }
        const j = 1.5 * EARTH_J2 * (a / r) ** 2;
        const s2 = (z / r) ** 2;
        const pull = -EARTH_GM_m3ps2 / r ** 3;
        const brake = (0.5 * air.density_kgpm3 * speed * drag) / mass;
        return [
          vx,
          vy,
          vz,
          pull * x * (1 - j * (5 * s2 - 1)) + (thrust / mass) * aim[0]! - brake * w[0]!,
          pull * yy * (1 - j * (5 * s2 - 1)) + (thrust / mass) * aim[1]! - brake * w[1]!,
          pull * z * (1 - j * (5 * s2 - 3)) + (thrust / mass) * aim[2]! - brake * w[2]!,
        ];
      },
      t0,
      y,
      t1,
    );
    y = result.y;
  });
  return y;
}

describe('the landing place', () => {
  it('is the site itself on the ellipsoid', () => {
    const { compiled } = solved('to-site');
    const { site } = compiled.study.study;
    const position = new Float64Array(3);
    const degree = Math.PI / 180;
    geodeticToCartesian(site.latitude_deg * degree, site.longitude_deg * degree, site.height_m, position);
    expect([...compiled.place!.position]).toEqual([...position]);
  });
});
