import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { describe, expect, it } from 'vitest';
import type { Study } from '../../../../core/contract/study.ts';
import { validateStudy } from '../../../../core/contract/load.ts';
import { compileStudy, startValues } from '../../../../core/flight/compile.ts';
import { launchFrame } from '../../../../core/flight/launch.ts';
import { recordFlight } from '../../../../core/flight/record.ts';
import { TrackReader } from '../../../../core/flight/track.ts';
import { normalQuantile } from '../../../../core/math/normalQuantile.ts';
import { calibrate } from '../../../../core/study/calibration/calibrate.ts';
import { calibratedStudy } from '../../../../core/study/calibration/calibrated.ts';
import type { ObservedPoint } from '../../../../core/study/calibration/observed.ts';
import { withNumbers } from '../../../../core/study/numbers.ts';
import { event, sounding } from '../../flight/studies.ts';

const THRUST = 'vehicle.bodies.body.engineGroups.main.thrustVacuum_N';
const IMPULSE = 'vehicle.bodies.body.engineGroups.main.ispVacuum_s';
const DRAG = 'vehicle.aerodynamics.0.dragCoefficient.value.0';
const PATHS = [THRUST, IMPULSE, DRAG];
const TWO_THIRDS = normalQuantile(5 / 6);
const NOMINAL = [3e5, 300, 0.5];
const DEVIATION = [4e3, 4, 0.05];

/** Rises through air for 40 s; three inputs are uncertain. */
const study: Study = sounding({ kind: 'vertical' }, (s) => {
  s.earth.atmosphere = {
    kind: 'exponential',
    seaLevelDensity_kgpm3: 1.225,
    scaleHeight_m: 7200,
    pressure_Pa: 0,
    soundSpeed_mps: 340,
  };
  s.vehicle.aerodynamics[0]!.dragCoefficient.value = [0.5];
  event(s, 'off').trigger = { kind: 'time', time_s: 40 };
  PATHS.forEach((path, i) => {
    const half = TWO_THIRDS * DEVIATION[i]!;
    const spread = { shape: 'normal' as const, low: NOMINAL[i]! - half, high: NOMINAL[i]! + half };
    s.provenance[path] = { source: 'invented', spread };
  });
});

const ERRORS = { altitude: 15, speed: 1.5, acceleration: 0.05 } as const;
const TIMES = [5, 10, 15, 20, 25, 30, 35, 39];

/** What the study's flight shows, exactly. */
function exact(own: Study): ObservedPoint[] {
  const compiled = compileStudy(own);
  const record = recordFlight(compiled, startValues(compiled));
  const launch = launchFrame(compiled.site, record.values[1]!);
  const reader = new TrackReader(compiled, record.tracks[0]!, record.values, launch);
  return TIMES.flatMap((time_s): ObservedPoint[] => {
    const now = reader.at(time_s);
    return [
      { quantity: 'altitude', time_s, value: now.height_m, error: ERRORS.altitude },
      { quantity: 'speed', time_s, value: now.speedRelative_mps, error: ERRORS.speed },
      { quantity: 'acceleration', time_s, value: now.sensed_mps2, error: ERRORS.acceleration },
    ];
  });
}

/** Normal deviates with deviation 1. One stream for many fits: the first number of small seeds is far from evenly spread. */
function deviates(seed: number): () => number {
  const source = xoroshiro128plus(seed);
  return () => normalQuantile(Math.min(1 - 1e-12, Math.max(1e-12, uniformFloat64(source))));
}

/** A truth drawn from what the study thinks possible, and what would be observed of it. */
function planted(draw: () => number): { truth: number[]; points: ObservedPoint[] } {
  const truth = NOMINAL.map((nominal, i) => nominal + DEVIATION[i]! * draw());
  const own = withNumbers(
    study,
    PATHS.map((path, i) => ({ path, value: truth[i]! })),
  );
  const points = exact(own).map((point) => ({ ...point, value: point.value + point.error * draw() }));
  return { truth, points };
}

describe('a calibration', () => {
  it('recovers planted values from points without noise, better than the errors allow', () => {
    const truth = [3.05e5, 296, 0.46];
    const own = withNumbers(
      study,
      PATHS.map((path, i) => ({ path, value: truth[i]! })),
    );
    const fit = calibrate(study, exact(own), PATHS);
    expect(fit.status, fit.message).toBe('converged');
    fit.inputs.forEach(({ value, deviation, priorDeviation }, i) => {
      // The stated uncertainty pulls toward the nominal: to first order by the covariance times its pull on each input.
      const pull = fit.inputs.reduce(
        (sum, each, j) =>
          sum + (fit.covariance[i]![j]! * (each.nominal - truth[j]!)) / each.priorDeviation ** 2,
        0,
      );
      // A tenth of what is uncertain for what is not linear.
      expect(Math.abs(value - truth[i]! - pull)).toBeLessThan(0.1 * deviation);
      expect(deviation).toBeLessThan(priorDeviation);
    });
    expect(fit.chiSquare).toBeLessThan(0.5);
    expect(fit.chiSquareBefore).toBeGreaterThan(100);
  });

  it('states intervals that cover what was planted as often as they say, and chi-square near one', () => {
    const fits = 120;
    const draw = deviates(20_260_101);
    let covered = 0;
    let reduced = 0;
    for (let i = 0; i < fits; i++) {
      const { truth, points } = planted(draw);
      const fit = calibrate(study, points, PATHS);
      expect(fit.status, fit.message).toBe('converged');
      fit.inputs.forEach(({ value, deviation }, i) => {
        if (Math.abs(value - truth[i]!) <= deviation) covered += 1;
      });
      reduced += fit.reducedChiSquare / fits;
    }
    const count = fits * PATHS.length;
    console.log(`68 % intervals cover ${covered} of ${count}; mean reduced chi-square ${reduced.toFixed(3)}`);
    // Binomial with p = 0.6827: three deviations of the count; the inputs of one fit are correlated, which at worst makes
    // three of them one, so the deviation is that of as many trials as there are fits.
    const p = 0.6827;
    const band = 3 * Math.sqrt((p * (1 - p)) / fits);
    expect(Math.abs(covered / count - p)).toBeLessThan(band);
    // Mean of 120 chi-squares with 24 degrees: 1 ± 3 √(2/24/120).
    expect(Math.abs(reduced - 1)).toBeLessThan(3 * Math.sqrt(2 / 24 / fits));
  });

  it('has a symmetric covariance whose diagonal is the deviations, and correlations within one', () => {
    const fit = calibrate(study, planted(deviates(7_000_007)).points, PATHS);
    fit.inputs.forEach(({ deviation }, i) => {
      expect(Math.sqrt(fit.covariance[i]![i]!) / deviation).toBeCloseTo(1, 12);
      fit.inputs.forEach((_, j) => {
        expect(fit.correlation[i]![j]).toBeCloseTo(fit.correlation[j]![i]!, 9);
        expect(Math.abs(fit.correlation[i]![j]!)).toBeLessThanOrEqual(1 + 1e-12);
      });
    });
  });

  it('leaves an input that the points do not touch where and as uncertain as it was', () => {
    const silent: Study = { ...study, provenance: { ...study.provenance } };
    // A nozzle without air pressure does nothing.
    const area = 'vehicle.bodies.body.engineGroups.main.exitArea_m2';
    silent.provenance[area] = { source: 'invented', spread: { shape: 'normal', low: 0, high: 0.2 } };
    const fit = calibrate(withNumbers(silent, [{ path: area, value: 0.1 }]), exact(study), [area]);
    expect(fit.status).toBe('converged');
    expect(fit.inputs[0]!.value).toBeCloseTo(0.1, 9);
    expect(fit.inputs[0]!.deviation / fit.inputs[0]!.priorDeviation).toBeCloseTo(1, 6);
  });

  it('stops at the end of a uniform spread, and says so', () => {
    const held: Study = { ...study, provenance: { ...study.provenance } };
    held.provenance[THRUST] = { source: 'invented', spread: { shape: 'uniform', low: 2.99e5, high: 3.01e5 } };
    const own = withNumbers(study, [{ path: THRUST, value: 3.2e5 }]);
    const fit = calibrate(held, exact(own), [THRUST]);
    expect(fit.status, fit.message).toBe('converged');
    expect(fit.inputs[0]).toMatchObject({ value: 3.01e5, heldAt: 'high' });
    expect(calibratedStudy(held, fit).provenance[THRUST]!.spread).toEqual(held.provenance[THRUST].spread);
  });

  it('writes values and spreads back into a study that loads', () => {
    const fit = calibrate(study, planted(deviates(3_000_003)).points, PATHS);
    const written = validateStudy(JSON.parse(JSON.stringify(calibratedStudy(study, fit))));
    if (!written.ok) throw new Error(written.problems.map((problem) => problem.sentence).join('\n'));
    const { spread, note, source } = written.study.provenance[IMPULSE]!;
    const input = fit.inputs[1]!;
    expect(written.study.vehicle.bodies['body']!.engineGroups['main']!.ispVacuum_s).toBe(input.value);
    expect((spread!.high - spread!.low) / 2 / TWO_THIRDS).toBeCloseTo(input.deviation, 9);
    expect(source).toBe('invented');
    expect(note).toMatch(/^calibrated from 300 to 24 observed points, reduced chi-square \d\.\d\d$/);
    expect(() => calibratedStudy(study, { ...fit, status: 'notConverged' })).toThrow(/notConverged/);
  });

  it('refuses what it cannot fit, by name, and returns a flight that fails with its reason', () => {
    const points = exact(study);
    expect(() => calibrate(study, points, ['vehicle.bodies.body.dryMass_kg'])).toThrow(/states no spread/);
    expect(() => calibrate(study, points, [THRUST, THRUST])).toThrow(/again/);
    expect(() => calibrate(study, points, ['vehicle.bodies.body.engineGroups.main.count'])).toThrow(
      /a count/,
    );
    expect(() => calibrate(study, points, [])).toThrow(/no path/);
    const late = calibrate(study, [{ ...points[0]!, time_s: 90 }], [THRUST]);
    expect(late.status).toBe('notFlown');
    expect(late.message).toMatch(/90 s lies outside the flight, which lasts from 0\.0 s to 40\.0 s/);
  });
});
