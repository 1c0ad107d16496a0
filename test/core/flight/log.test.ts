import geographiclib from 'geographiclib-geodesic';
import { describe, expect, it } from 'vitest';
import { EARTH_ROTATION_radps } from '../../../core/constants/physical.ts';
import { cartesianToGeodetic } from '../../../core/earth/ellipsoid.ts';
import { compileStudy, startValues, type CompiledStudy } from '../../../core/flight/compile.ts';
import { launchFrame } from '../../../core/flight/launch.ts';
import { triggerWords } from '../../../core/flight/log.ts';
import { recordFlight, type FlightRecord } from '../../../core/flight/record.ts';
import { TrackReader } from '../../../core/flight/track.ts';
import { Worst } from '../earth/worst.ts';
import { event, happening, logged, plannedTime_s, r1, r1WithGap } from './studies.ts';

function fly(study = r1()): { compiled: CompiledStudy; record: FlightRecord; main: TrackReader } {
  const compiled = compileStudy(study);
  const record = recordFlight(compiled, startValues(compiled));
  const launch = launchFrame(compiled.site, record.values[1]!);
  return { compiled, record, main: new TrackReader(compiled, record.tracks[0]!, record.values, launch) };
}

const ids = (record: FlightRecord, track?: string): string[] =>
  record.log.filter((entry) => track === undefined || entry.track === track).map((entry) => entry.id);

/** Start-up before release, tail-offs, a gap: everything at its own time. */
const staggered = (): ReturnType<typeof r1> =>
  r1WithGap(3, (study) => {
    const { booster, upper } = study.vehicle.bodies;
    booster!.engineGroups.main!.startUp = { delay_s: 0.5, ramp_s: 1.5 };
    booster!.engineGroups.main!.shutDown = { delay_s: 0, ramp_s: 0.5 };
    upper!.engineGroups.main!.shutDown = { delay_s: 0, ramp_s: 0.4 };
    event(study, 'booster-ignition').trigger = { kind: 'time', time_s: -3 };
    event(study, 'separation').trigger = { kind: 'after', events: ['meco'], delay_s: 1 };
  });

describe('the event log of R1', () => {
  it('tells the whole story in order', () => {
    const { record } = fly(staggered());
    expect(ids(record, 'main')).toEqual([
      'booster-ignition',
      'liftoff',
      'vertical-rise',
      'kick',
      'turn',
      'mach-1',
      'max-q',
      'meco',
      'separation',
      'ignition',
      'tangent',
      'seco',
      'insertion',
    ]);
    expect(ids(record, 'booster')).toEqual(['booster-apogee', 'booster-impact']);
    const times = record.log.map((entry) => entry.time_s);
    expect(times).toEqual([...times].sort((a, b) => a - b));
  });

  it('keeps what happens at one instant in the order of the list', () => {
    const { record } = fly();
    expect(ids(record).slice(0, 3)).toEqual(['booster-ignition', 'liftoff', 'vertical-rise']);
    const at = logged(record, 'meco').time_s;
    const together = record.log.filter((entry) => entry.time_s === at).map((entry) => entry.id);
    expect(together).toEqual(['meco', 'separation', 'ignition', 'tangent']);
    expect(ids(record).slice(-2)).toEqual(['seco', 'insertion']);
  });

  it('says what set each off: the sequence, by its trigger, or the flight', () => {
    const { record } = fly(staggered());
    const told = (id: string): [string, string] => [logged(record, id).cause, logged(record, id).trigger];
    expect(told('booster-ignition')).toEqual(['set', 'mission time -3 s']);
    expect(told('turn')).toEqual(['set', '8 s after kick']);
    expect(told('meco')).toEqual(['set', 'booster down to its reserves']);
    expect(told('ignition')).toEqual(['set', '3 s after meco']);
    expect(told('tangent')).toEqual(['set', 'with separation and ignition']);
    expect(told('liftoff')[0]).toBe('found');
    expect(told('max-q')[0]).toBe('found');
    expect(told('insertion')).toEqual(['found', 'end of the last tail-off']);
    expect(triggerWords({ kind: 'gap', cutoff: 'meco', gap_s: -2.5 })).toBe('2.5 s before meco');
    expect(triggerWords({ kind: 'before', event: 'meco', lead_s: 10 })).toBe('10 s before meco');
    expect(triggerWords({ kind: 'propellant', body: 'upper', left: { mass_kg: 400 } })).toBe(
      'upper down to 400 kg',
    );
  });

  it('has mass and thrust before and after each', () => {
    const { record } = fly(staggered());
    const { before, after } = logged(record, 'separation');
    // Dry booster and its reserve: the tail-off of half a second is over by then.
    expect(before.mass_kg - after.mass_kg).toBeCloseTo(118_000 + 118_000, 5);
    expect(before.thrust_N).toBe(0);
    const cut = logged(record, 'meco');
    expect(cut.before.thrust_N).toBeGreaterThan(3.03e7);
    // A ramp begins where it is cut: no jump yet.
    expect(cut.after.thrust_N).toBeCloseTo(cut.before.thrust_N, 0);
    expect(cut.after.mass_kg).toBeCloseTo(cut.before.mass_kg, 5);
    const lit = logged(record, 'ignition');
    expect([lit.before.thrust_N, lit.after.thrust_N]).toEqual([0, 0]);
    const sudden = logged(fly().record, 'meco');
    expect(sudden.before.thrust_N).toBeGreaterThan(3.03e7);
    expect(sudden.after.thrust_N).toBe(0);
  });

  it('ends with nothing burning, whether thrust tails off or stops', () => {
    for (const study of [r1(), staggered()]) {
      const { record } = fly(study);
      const end = logged(record, 'insertion');
      expect(end.after.thrust_N).toBeCloseTo(0, 6);
      expect(end.after.mass_kg).toBeCloseTo(62_000 + 12_000 + 33_000, 5);
    }
    const { before, after } = logged(fly().record, 'seco');
    expect([before.thrust_N, after.thrust_N]).toEqual([expect.closeTo(3.75e6, -2), 0]);
    // 3.75 MN on 107 t before; a wisp of drag at 200 km after.
    expect(before.sensed_mps2).toBeCloseTo(35.05, 1);
    expect(after.sensed_mps2).toBeLessThan(1e-2);
  });

  it('counts what the last event lets go as gone', () => {
    const study = r1((draft) => {
      draft.vehicle.bodies.adapter = {
        name: 'adapter',
        role: 'ring',
        ridesOn: 'upper',
        dryMass_kg: 500,
        fittings: {},
        engineGroups: {},
      };
      for (const each of draft.vehicle.aerodynamics)
        if (each.bodies.includes('upper')) each.bodies.push('adapter');
      const one = draft.vehicle.aerodynamics[1]!;
      draft.vehicle.aerodynamics.push({ ...one, bodies: ['adapter'] }, { ...one, bodies: ['upper'] });
      draft.sequence.events.push(
        happening('free', { kind: 'after', events: ['seco'], delay_s: 0 }, { kind: 'part', link: 'adapter' }),
      );
    });
    const { record } = fly(study);
    const { before, after } = logged(record, 'free');
    expect(before.mass_kg - after.mass_kg).toBeCloseTo(500, 6);
  });

  it('knows the pad: mass, thrust and one g before release', () => {
    const { record } = fly(staggered());
    const start = logged(record, 'booster-ignition');
    expect(start).toMatchObject({ time_s: -3, height_m: 0, speedRelative_mps: 0, downrange_m: 0, mach: 0 });
    expect(start.before).toMatchObject({ mass_kg: 2_163_000, thrust_N: 0 });
    expect(start.before.sensed_mps2).toBeCloseTo(9.767, 2);
    // On the equator side of 16 degrees the ground moves at 447 m/s.
    expect(start.speedInertial_mps).toBeCloseTo(7.292115e-5 * 6378137 * Math.cos((16 * Math.PI) / 180), 6);
    const lift = logged(record, 'liftoff');
    expect(lift.time_s).toBe(0);
    // From the ramp: one and a quarter seconds lost of three.
    const burned = (3 - 0.5 - 0.75) * ((16 * 1.9e6) / (338 * 9.80665));
    expect(lift.after.mass_kg).toBeCloseTo(2_163_000 - burned, 5);
    expect(lift.after.thrust_N).toBeCloseTo(16 * (1.9e6 - 1.1 * 101_325), 0);
    expect(lift.height_m).toBeCloseTo(0, 6);
  });
});

describe('events that the flight finds', () => {
  it('max-q is where dynamic pressure stops rising', () => {
    // In an exponential atmosphere nothing is kinked.
    const study = r1((draft) => {
      draft.earth.atmosphere = {
        kind: 'exponential',
        seaLevelDensity_kgpm3: 1.225,
        scaleHeight_m: 7500,
        pressure_Pa: 0,
        soundSpeed_mps: 320,
      };
      // Not even by the drag table.
      for (const each of draft.vehicle.aerodynamics) {
        each.dragCoefficient = { mach: [0], value: [0.3], between: 'linear' };
      }
    });
    const { record, main } = fly(study);
    const { time_s, dynamicPressure_Pa } = logged(record, 'max-q');
    const q = (t: number): number => main.at(t).dynamicPressure_Pa;
    const slope = (q(time_s + 0.01) - q(time_s - 0.01)) / 0.02;
    // Found by golden section to 1e-6 s where q is flat to rounding within 1e-3 s: |q̈| × 1e-3 s is 0.05 Pa/s.
    expect(Math.abs(slope)).toBeLessThan(0.05);
    for (let t = 10; t < 148; t += 0.5) expect(q(t)).toBeLessThanOrEqual(dynamicPressure_Pa);
  });

  it('Mach 1 is where the Mach number first rises through one', () => {
    const { record, main } = fly();
    const { time_s, mach } = logged(record, 'mach-1');
    expect(mach).toBeCloseTo(1, 8);
    expect(main.at(time_s - 0.1).mach).toBeLessThan(1);
    expect(main.at(time_s + 0.1).mach).toBeGreaterThan(1);
    for (let t = 1; t < time_s - 0.01; t += 0.5) expect(main.at(t).mach).toBeLessThan(1);
  });

  it('the booster’s apogee is where it stops rising, its impact where it meets the ground', () => {
    const { compiled, record } = fly();
    const track = record.tracks.find((each) => each.id === 'booster')!;
    const reader = new TrackReader(
      compiled,
      track,
      record.values,
      launchFrame(compiled.site, record.values[1]!),
    );
    const apogee = logged(record, 'booster-apogee');
    const climb = (t: number): number => {
      const { state } = reader.at(t);
      return (
        (state[0]! * state[3]! + state[1]! * state[4]! + state[2]! * state[5]!) /
        Math.hypot(...state.slice(0, 3))
      );
    };
    // The root is good to 1e-9 s at 9.4 m/s².
    expect(Math.abs(climb(apogee.time_s))).toBeLessThan(1e-6);
    for (let t = track.start_s; t < track.end_s; t += 2)
      expect(reader.at(t).height_m).toBeLessThanOrEqual(apogee.height_m);
    const impact = logged(record, 'booster-impact');
    expect(Math.abs(impact.height_m)).toBeLessThan(1e-3);
    expect(impact.time_s).toBe(track.end_s);
    expect(impact.after.mass_kg).toBe(236_000);
    expect(impact.trigger).toBe('height falls through zero');
  });

  it('a flight that falls back ends its log on the ground, without an insertion', () => {
    const study = r1((draft) => {
      const kick = event(draft, 'kick').action;
      if (kick.kind === 'steer' && kick.law.kind === 'kick') kick.law.angle_deg = 20;
    });
    const { record } = fly(study);
    expect(record.status.code).toBe('impact');
    expect(record.ledger).toBeNull();
    expect(record.orbit).toBeNull();
    expect(ids(record).at(-1)).toBe('main-impact');
    expect(ids(record)).not.toContain('meco');
    expect(record.tracks.map((track) => [track.id, track.end])).toEqual([['main', 'impact']]);
  });

  it('a vehicle that cannot lift off has no track and no log', () => {
    const compiled = compileStudy(r1());
    const values = startValues(compiled);
    values[0] = 5e6;
    const record = recordFlight(compiled, values);
    expect(record.status.code).toBe('cannotLiftOff');
    expect(record.tracks).toEqual([]);
    expect(record.log).toEqual([]);
  });
});

describe('downrange', () => {
  it('is the geodesic from the pad to the point below', () => {
    const worst = new Worst('downrange against geographiclib', 'm', 1e-6);
    for (const figure of ['sphere', 'ellipsoid'] as const) {
      const { compiled, record } = fly(r1((draft) => (draft.earth.figure = figure)));
      for (const entry of record.log.filter((each) => each.track === 'main' && each.time_s >= 0)) {
        const y = new Float64Array(12);
        record.tracks[0]!.steps.sample(entry.time_s, y);
        const turned = EARTH_ROTATION_radps * entry.time_s;
        const [x, z] = [y[0]! * Math.cos(turned) + y[1]! * Math.sin(turned), y[2]!];
        const side = y[1]! * Math.cos(turned) - y[0]! * Math.sin(turned);
        const below = {
          latitude_rad: Math.atan2(z, Math.hypot(x, side)),
          longitude_rad: Math.atan2(side, x),
          height_m: 0,
        };
        if (figure === 'ellipsoid') cartesianToGeodetic(x, side, z, below);
        const path = geographiclib.Geodesic.WGS84.Inverse(
          16,
          0,
          (below.latitude_rad * 180) / Math.PI,
          (below.longitude_rad * 180) / Math.PI,
        );
        worst.add(`${entry.id} on the ${figure}`, entry.downrange_m - path.s12!);
      }
      expect(logged(record, 'insertion').downrange_m).toBeGreaterThan(1.5e6);
      expect(plannedTime_s(compiled, 'seco')).toBe(logged(record, 'insertion').time_s);
    }
    worst.report();
  });
});
