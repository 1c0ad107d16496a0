import { describe, expect, it } from 'vitest';
import { AZIMUTH, compileStudy, PAYLOAD, recompile, startValues } from '../../../core/flight/compile.ts';
import { withGap } from '../../../core/study/gap.ts';
import { event, r1, ringed } from './studies.ts';

describe('a compiled study', () => {
  const study = ringed();
  event(study, 'booster-ignition').trigger = { kind: 'time', time_s: -3 };
  const { action } = event(study, 'tangent');
  if (action.kind === 'steer' && action.law.kind === 'linearTangent') action.law.held = ['b_per_s'];
  const compiled = compileStudy(study);

  it('lists the numbers that a solve may change, by path, in SI and radians', () => {
    const table = compiled.parameters.map(({ path, unit, kind, free, value }) => [
      path,
      unit,
      kind,
      free,
      value,
    ]);
    const DEG = Math.PI / 180;
    expect(table).toEqual([
      ['payload.mass_kg', 'kg', 'payload', true, 33_000],
      // Free because the target names an inclination.
      ['sequence.launchAzimuth_deg', 'deg', 'azimuth', true, 90 * DEG],
      ['sequence.events.kick.action.law.angle_deg', 'deg', 'law', true, 2.27 * DEG],
      ['sequence.events.tangent.action.law.a', '', 'law', true, 0.865],
      // Held by the study.
      ['sequence.events.tangent.action.law.b_per_s', '1/s', 'law', false, -0.002469],
    ]);
    expect([...startValues(compiled)]).toEqual(compiled.parameters.map((each) => each.value));
    for (const each of compiled.parameters) {
      expect(each.lower).toBeLessThan(each.upper);
      expect(each.scale).toBeGreaterThan(0);
    }
  });

  it('keeps the azimuth where no inclination is asked for', () => {
    expect(compileStudy(r1()).parameters[AZIMUTH]!.free).toBe(false);
    expect(compileStudy(r1()).parameters[PAYLOAD]!.free).toBe(true);
  });

  it('does not free a law that never takes effect', () => {
    const study = r1();
    event(study, 'tangent').trigger = { kind: 'after', events: ['tangent-never'], delay_s: 0 };
    study.sequence.events.push({
      id: 'tangent-never',
      name: 'never',
      trigger: { kind: 'propellant', body: 'upper', left: { mass_kg: 0.5 } },
      action: { kind: 'cut', body: 'upper', keep: 0 },
    });
    const laws = compileStudy(study).parameters.filter((each) => each.path.includes('tangent.'));
    expect(laws).toHaveLength(2);
    for (const each of laws) expect(each.free).toBe(false);
  });

  it('knows from which span on each number acts', () => {
    const { parameters, plan } = compiled;
    const first = plan.segments.findIndex((segment) => !segment.held);
    expect(first).toBeGreaterThan(0);
    expect(parameters.slice(0, 2).map((each) => each.firstSegment)).toEqual([first, first]);
    for (const each of parameters.slice(2))
      expect(plan.segments[each.firstSegment]!.lawEvent).toBe(each.event);
  });

  it('makes fresh laws for every engine, since laws keep state', () => {
    const [one, two] = [compiled.makeLaws(), compiled.makeLaws()];
    one.forEach((law, i) => {
      if (law === null) expect(two[i]).toBeNull();
      else expect(two[i]).not.toBe(law);
    });
    expect(one.filter((law) => law !== null)).toHaveLength(4);
  });

  it('compiled again under other numbers keeps its air, unless that changed', () => {
    const base = compileStudy(r1());
    const moved = recompile(base, withGap(base.study, 'ignition', 4));
    expect(moved.setting).toBe(base.setting);
    expect(moved.plan.gaps[0]!.command_s).toBeCloseTo(4, 10);
    const study = r1();
    study.earth.atmosphere = { kind: 'none' };
    expect(recompile(base, study).setting).not.toBe(base.setting);
    study.earth = { ...r1().earth, gravity: 'j2' };
    expect(recompile(base, study).setting.gravity).not.toBe(base.setting.gravity);
  });

  it('has the gravity, figure, air and wind that the study names', () => {
    const oblate = r1();
    oblate.earth = {
      ...oblate.earth,
      gravity: 'j2',
      figure: 'ellipsoid',
      wind: [
        { height_m: 0, eastward_mps: 1, northward_mps: 0 },
        { height_m: 9000, eastward_mps: 20, northward_mps: 0 },
      ],
    };
    const { gravity, figure, wind } = compileStudy(oblate).setting;
    expect(gravity.j2).toBeCloseTo(1.0826e-3, 7);
    expect(figure.flattening).toBeCloseTo(1 / 298.257, 8);
    expect(wind).not.toBeNull();
    const plain = compileStudy(r1()).setting;
    expect([plain.gravity.j2, plain.figure.flattening, plain.wind]).toEqual([0, 0, null]);
    plain.atmosphere.evaluate(0, plain.atmosphere.pieceAt(0));
    expect(plain.atmosphere.density_kgpm3).toBeCloseTo(1.225, 3);
    const thin = r1();
    thin.earth.atmosphere = {
      kind: 'exponential',
      seaLevelDensity_kgpm3: 1,
      scaleHeight_m: 5000,
      pressure_Pa: 3,
      soundSpeed_mps: 300,
    };
    const { atmosphere } = compileStudy(thin).setting;
    atmosphere.evaluate(5000, 0);
    expect([atmosphere.density_kgpm3, atmosphere.pressure_Pa, atmosphere.soundSpeed_mps]).toEqual([
      expect.closeTo(Math.exp(-1), 12),
      3,
      300,
    ]);
  });
});
