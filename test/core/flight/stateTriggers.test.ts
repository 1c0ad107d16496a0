import { describe, expect, it } from 'vitest';
import type { SequenceEvent } from '../../../core/contract/sequence.ts';
import type { Study } from '../../../core/contract/study.ts';
import { EARTH_GM_m3ps2, EARTH_EQUATORIAL_RADIUS_m, G0_mps2 } from '../../../core/constants/physical.ts';
import { compileStudy, PAYLOAD, startValues } from '../../../core/flight/compile.ts';
import { RECORD_ACCURACY } from '../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { recordFlight, type FlightRecord } from '../../../core/flight/record.ts';
import { TrackReader, type Observation } from '../../../core/flight/track.ts';
import { launchFrame } from '../../../core/flight/launch.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { event, happening, logged, r1, sounding } from './studies.ts';

/** What the flight's own record says at a time of its main track, by a reader that knows nothing of triggers. */
function observed(study: Study, record: FlightRecord, time_s: number, before = false): Observation {
  const compiled = compileStudy(study);
  const launch = launchFrame(compiled.site, record.values[1]!);
  return new TrackReader(compiled, record.tracks[0]!, record.values, launch).at(time_s, before);
}

function fly(study: Study): FlightRecord {
  const compiled = compileStudy(study);
  return recordFlight(compiled, startValues(compiled));
}

/** R1 whose upper stage lets a 900 kg fairing go; the trigger decides when. */
function withFairing(
  trigger: SequenceEvent['trigger'],
  change: (study: Study) => void = () => undefined,
): Study {
  return r1((study) => {
    const { bodies, aerodynamics } = study.vehicle;
    bodies['fairing'] = {
      name: 'fairing',
      role: 'fairing',
      ridesOn: 'upper',
      dryMass_kg: 900,
      fittings: {},
      engineGroups: {},
    };
    const [both, upper, booster] = aerodynamics as [
      (typeof aerodynamics)[0],
      (typeof aerodynamics)[0],
      (typeof aerodynamics)[0],
    ];
    study.vehicle.aerodynamics = [
      both,
      upper,
      booster,
      { ...both, bodies: ['booster', 'upper', 'fairing'] },
      { ...upper, bodies: ['upper', 'fairing'] },
      { ...upper, bodies: ['fairing'] },
    ];
    study.sequence.events.push(happening('fairing-off', trigger, { kind: 'part', link: 'fairing' }));
    change(study);
  });
}

const CLOSE = {
  // A root of the step itself: what is left is the rounding of heights from 6.4e6 m and of speeds.
  altitude_m: 1e-5,
  speed_mps: 1e-7,
  relative: 1e-9,
};

describe('a state trigger comes about where the flight passes its value', () => {
  const heat = (o: Observation): number => (2 * o.dynamicPressure_Pa * o.speedRelative_mps) / 2;

  it('heat flux falls through 1135 W/m² unless told otherwise, and the fairing flies on by itself', () => {
    const trigger = { kind: 'heatFlux', heatFlux_Wpm2: 1135 } as const;
    const study = withFairing(trigger);
    const record = fly(study);
    const entry = logged(record, 'fairing-off');
    const now = observed(study, record, entry.time_s);
    // Without wind the speed against the air is that against the ground.
    expect(heat(now) / 1135 - 1).toBeCloseTo(0, 8);
    expect(heat(observed(study, record, entry.time_s - 1))).toBeGreaterThan(1135);
    expect(heat(observed(study, record, entry.time_s + 1))).toBeLessThan(1135);
    expect(entry.before.mass_kg - entry.after.mass_kg).toBeCloseTo(900, 6);
    expect(record.tracks.map((track) => track.id)).toEqual(['main', 'booster', 'fairing']);
    expect(record.tracks[2]!.start_s).toBe(entry.time_s);
    expect(record.tracks[2]!.end).toBe('impact');
  });

  it.each(['rising', 'falling'] as const)('dynamic pressure %s through 12 kPa', (passing) => {
    const study = withFairing({ kind: 'dynamicPressure', pressure_Pa: 12_000, passing });
    const record = fly(study);
    const { time_s, dynamicPressure_Pa } = logged(record, 'fairing-off');
    expect(dynamicPressure_Pa / 12_000 - 1).toBeCloseTo(0, 8);
    const earlier = observed(study, record, time_s - 0.5).dynamicPressure_Pa;
    expect(Math.sign(12_000 - earlier)).toBe(passing === 'rising' ? 1 : -1);
    expect(Math.sign(time_s - logged(record, 'max-q').time_s)).toBe(passing === 'rising' ? -1 : 1);
  });

  it('height rising through 90 km and speed rising through 2 km/s', () => {
    const high = logged(
      fly(withFairing({ kind: 'altitude', height_m: 90_000, passing: 'rising' })),
      'fairing-off',
    );
    expect(Math.abs(high.height_m - 90_000)).toBeLessThan(CLOSE.altitude_m);
    const fast = logged(
      fly(withFairing({ kind: 'speed', speed_mps: 2000, passing: 'rising' })),
      'fairing-off',
    );
    expect(Math.abs(fast.speedRelative_mps - 2000)).toBeLessThan(CLOSE.speed_mps);
    const faster = logged(
      fly(withFairing({ kind: 'speed', speed_mps: 2000, frame: 'inertial', passing: 'rising' })),
      'fairing-off',
    );
    expect(Math.abs(faster.speedInertial_mps - 2000)).toBeLessThan(CLOSE.speed_mps);
    expect(faster.time_s).toBeLessThan(fast.time_s);
  });

  it('no passage, no event: the flight goes on to insertion and the log has none', () => {
    const record = fly(withFairing({ kind: 'altitude', height_m: 900_000, passing: 'rising' }));
    expect(record.status.code).toBe('flown');
    expect(record.log.some((entry) => entry.id === 'fairing-off')).toBe(false);
    expect(record.tracks.map((track) => track.id)).toEqual(['main', 'booster']);
  });
});

describe('against closed forms, without air', () => {
  /** Rises from the pole under constant thrust; gravity is GM/r². */
  const c = 300 * G0_mps2;
  const flow = 3e5 / c;

  it('sensed acceleration F/(m₀ − ṁt) rises through 30 m/s² when the mass is F/30', () => {
    const study = sounding({ kind: 'vertical' }, (s) => {
      event(s, 'off').trigger = { kind: 'sensedAcceleration', acceleration_mps2: 30 };
    });
    const record = fly(study);
    expect(record.status.code).toBe('flown');
    const off = logged(record, 'off');
    expect(off.time_s).toBeCloseTo((20_000 - 3e5 / 30) / flow, 8);
    expect(record.tracks[0]!.end_s).toBe(off.time_s);
    expect(off.after.thrust_N).toBe(0);
  });

  it('vertical speed falls through zero at the height of the energy, and what waits for it follows', () => {
    // Cut at 40 s, coast over the top, 5 s later light again for the final cut.
    const study = sounding({ kind: 'vertical' }, (s) => {
      s.sequence.events.push(
        happening('first-off', { kind: 'time', time_s: 40 }, { kind: 'cut', body: 'body', keep: 0 }),
        happening(
          'top',
          { kind: 'verticalSpeed', passing: 'falling' },
          { kind: 'steer', law: { kind: 'vertical' } },
        ),
        happening(
          'again',
          { kind: 'after', events: ['top'], delay_s: 5 },
          { kind: 'light', body: 'body', group: 'main', throttle: 1 },
        ),
      );
    });
    const record = fly(study);
    expect(record.status.message).toBe('Flown to insertion.');
    const cut = observed(study, record, 40);
    const top = logged(record, 'top');
    const r = EARTH_EQUATORIAL_RADIUS_m + cut.height_m;
    // v²/2 − GM/r = −GM/r_top.
    const energy = cut.speedInertial_mps ** 2 / 2 - EARTH_GM_m3ps2 / r;
    // 1e-11 a step over ten minutes of coast.
    expect(top.height_m).toBeCloseTo(-EARTH_GM_m3ps2 / energy - EARTH_EQUATORIAL_RADIUS_m, 2);
    expect(logged(record, 'again').time_s).toBe(top.time_s + 5);
    const burned = (logged(record, 'off').time_s - top.time_s - 5 + 40) * flow;
    expect(burned).toBeCloseTo(14_000, 6);
  });

  it('a value passed up and down within one step comes about both times', () => {
    // Half a metre below the top of a coast: passed 0.33 s before and after, in steps of tens of seconds.
    const coasting = (change: (s: Study) => void): Study =>
      sounding({ kind: 'vertical' }, (s) => {
        s.sequence.events.push(
          happening('first-off', { kind: 'time', time_s: 40 }, { kind: 'cut', body: 'body', keep: 0 }),
          happening(
            'top',
            { kind: 'verticalSpeed', passing: 'falling' },
            { kind: 'steer', law: { kind: 'vertical' } },
          ),
          happening(
            'again',
            { kind: 'after', events: ['top'], delay_s: 5 },
            { kind: 'light', body: 'body', group: 'main', throttle: 1 },
          ),
        );
        change(s);
      });
    const top = logged(fly(coasting(() => undefined)), 'top');
    const height_m = top.height_m - 0.5;
    const steer = { kind: 'steer', law: { kind: 'vertical' } } as const;
    const study = coasting((s) => {
      s.sequence.events.push(
        happening('down', { kind: 'altitude', height_m, passing: 'falling' }, steer),
        happening('up', { kind: 'altitude', height_m, passing: 'rising' }, steer),
      );
      // Nothing else may end the step there.
      event(s, 'top').trigger = { kind: 'time', time_s: top.time_s + 5 };
    });
    const record = fly(study);
    const fall_s = Math.sqrt(1 / (EARTH_GM_m3ps2 / (EARTH_EQUATORIAL_RADIUS_m + height_m) ** 2));
    // The height was read to a ten-thousandth of a metre of what the coarser steps have.
    expect(logged(record, 'up').time_s).toBeCloseTo(top.time_s - fall_s, 3);
    expect(logged(record, 'down').time_s).toBeCloseTo(top.time_s + fall_s, 3);
  });

  it('comes about once, however often its value is passed', () => {
    // Up, down, and up again on a second burn: three passages of a height, two of them rising.
    const study = sounding({ kind: 'vertical' }, (s) => {
      s.sequence.events.push(
        happening('first-off', { kind: 'time', time_s: 40 }, { kind: 'cut', body: 'body', keep: 0 }),
        happening(
          'down',
          { kind: 'altitude', height_m: 9000, passing: 'falling' },
          { kind: 'light', body: 'body', group: 'main', throttle: 1 },
        ),
        happening(
          'rising',
          { kind: 'altitude', height_m: 9000, passing: 'rising' },
          { kind: 'steer', law: { kind: 'vertical' } },
        ),
      );
    });
    const record = fly(study);
    expect(record.status.message).toBe('Flown to insertion.');
    const first = logged(record, 'rising');
    expect(record.log.filter(({ id }) => id === 'rising')).toHaveLength(1);
    expect(first.time_s).toBeLessThan(logged(record, 'down').time_s);
    // It does pass there again.
    const end_s = record.tracks[0]!.end_s;
    expect(observed(study, record, logged(record, 'down').time_s + 2).height_m).toBeLessThan(9000);
    expect(observed(study, record, end_s, true).height_m).toBeGreaterThan(9000);
  });

  it('a jump past the value counts as a passage, at the instant of the jump', () => {
    const study = sounding({ kind: 'vertical' }, (s) => {
      s.sequence.events.push(
        happening('first-off', { kind: 'time', time_s: 30 }, { kind: 'cut', body: 'body', keep: 0 }),
        happening(
          'again',
          { kind: 'time', time_s: 50 },
          { kind: 'light', body: 'body', group: 'main', throttle: 1 },
        ),
        // Above it from the start and only below it in the coast.
        happening(
          'felt',
          { kind: 'sensedAcceleration', acceleration_mps2: 10 },
          { kind: 'throttle', body: 'body', group: 'main', level: 0.5 },
        ),
      );
    });
    const record = fly(study);
    expect(logged(record, 'felt').time_s).toBe(50);
    expect(logged(record, 'felt').after.thrust_N).toBeCloseTo(1.5e5, 6);
  });
});

describe('several at once and what is refused', () => {
  it('two triggers of one value come about at one instant, in the order of the sequence', () => {
    const study = withFairing({ kind: 'altitude', height_m: 50_000, passing: 'rising' }, (s) => {
      s.sequence.events.push(
        happening(
          'also',
          { kind: 'altitude', height_m: 50_000, passing: 'rising' },
          { kind: 'throttle', body: 'booster', group: 'main', level: 0.9 },
        ),
      );
      s.vehicle.bodies['booster']!.engineGroups['main']!.throttle = { least: 0.5, most: 1 };
    });
    const record = fly(study);
    expect(logged(record, 'also').time_s).toBe(logged(record, 'fairing-off').time_s);
    expect(record.log.filter((e) => e.id === 'also' || e.id === 'fairing-off').map((e) => e.id)).toEqual([
      'fairing-off',
      'also',
    ]);
    // The booster burns longer for it: propellant levels after the event are planned anew.
    const plain = fly(withFairing({ kind: 'altitude', height_m: 50_000, passing: 'rising' }));
    const at = logged(record, 'also').time_s;
    const left = logged(plain, 'meco').time_s - at;
    expect(logged(record, 'meco').time_s - at).toBeCloseTo(left / 0.9, 8);
  });

  it('a lead before a state trigger is kept by the flight', () => {
    const study = withFairing({ kind: 'altitude', height_m: 50_000, passing: 'rising' }, (s) => {
      event(s, 'kick').trigger = { kind: 'before', event: 'fairing-off', lead_s: 3 };
    });
    const record = fly(study);
    // Closed to 1e-7 s at worst.
    expect(logged(record, 'fairing-off').time_s - logged(record, 'kick').time_s).toBeCloseTo(3, 6);
  });

  it('a cut that never comes about is a failure of the flight with its time, not an exception', () => {
    const study = sounding({ kind: 'vertical' }, (s) => {
      event(s, 'off').trigger = { kind: 'speed', speed_mps: 15_000, passing: 'rising' };
    });
    const record = fly(study);
    expect(record.status.code).toBe('cannotGoOn');
    expect(record.status.time_s).toBeCloseTo(14_000 / (3e5 / (300 * G0_mps2)), 8);
    expect(record.status.message).toContain('runs dry');
    expect(record.tracks[0]!.end).toBe('cut short');
  });
});

describe('derivatives over held steps', () => {
  const study = withFairing({ kind: 'heatFlux', heatFlux_Wpm2: 1135 }, (s) => {
    // The booster is throttled by a state as well, so that the time of its cut-off moves with it.
    s.vehicle.bodies['booster']!.engineGroups['main']!.throttle = { least: 0.5, most: 1 };
    s.sequence.events.push(
      happening(
        'ease',
        { kind: 'altitude', height_m: 30_000, passing: 'rising' },
        { kind: 'throttle', body: 'booster', group: 'main', level: 0.8 },
      ),
    );
  });
  const compiled = compileStudy(study);
  const values = startValues(compiled);

  it('unchanged numbers give the end state again', () => {
    const engine = new FlightEngine(compiled);
    expect(engine.fly(values), engine.status.message).toBe('flown');
    const end = [...engine.end];
    expect(engine.refly(values, engine.firstSegmentOf(compiled.parameters[PAYLOAD]!))).toBe(true);
    // The flight finds event times on a step's interpolant, the repetition on the step itself: 1e-9 s, at 8 km/s.
    end.forEach((value, i) => expect(engine.end[i]! - value).toBeCloseTo(0, i < 3 ? 4 : 7));
  });

  it('agree with central differences over whole flights, for every number', () => {
    const engine = new FlightEngine(compiled, RECORD_ACCURACY);
    let worst = 0;
    compiled.parameters.forEach((parameter, p) => {
      const end = (change: number, whole: boolean): number[] => {
        const moved = Float64Array.from(values);
        moved[p]! += change * parameter.scale;
        if (whole) expect(engine.fly(moved), engine.status.message).toBe('flown');
        else expect(engine.refly(moved, engine.firstSegmentOf(parameter))).toBe(true);
        return [...engine.end];
      };
      const wide = 1e-3;
      const above = end(wide, true);
      const below = end(-wide, true);
      const whole = above.map((value, i) => (value - below[i]!) / (2 * wide));
      end(0, true);
      const narrow = 1e-5;
      const after = end(narrow, false);
      const before = end(-narrow, false);
      const size = [Math.hypot(...whole.slice(0, 3)), Math.hypot(...whole.slice(3))];
      after.forEach((value, i) => {
        const held = (value - before[i]!) / (2 * narrow);
        worst = Math.max(worst, Math.abs(held - whole[i]!) / size[i < 3 ? 0 : 1]!);
      });
    });
    console.log(
      `derivatives through state triggers: worst deviation ${worst.toExponential(1)} of the vector`,
    );
    // The differences over whole flights err with their step squared and with where those flights step.
    expect(worst).toBeLessThan(2e-5);
  });
});

describe('solving for payload', () => {
  it('with a fairing let go by heat flux costs what the same flight by the clock does', () => {
    const byHeat = compileStudy(withFairing({ kind: 'heatFlux', heatFlux_Wpm2: 1135 }));
    const solved = solvePayload(byHeat);
    expect(solved.status, solved.message).toBe('converged');
    const time_s = logged(recordFlight(byHeat, solved.values), 'fairing-off').time_s;
    // With the time held the same point still flies to the orbit, and nearly is the optimum: heat moves with steering.
    const byClock = compileStudy(withFairing({ kind: 'time', time_s }));
    const other = solvePayload(byClock);
    expect(other.status, other.message).toBe('converged');
    // The optimum may trade on the event's time: the first-order worth of 900 kg carried a second longer is below 1 kg.
    expect(Math.abs(other.payload_kg - solved.payload_kg)).toBeLessThan(1);
    const record = recordFlight(byClock, solved.values);
    expect(record.orbit!.perigeeHeight_m).toBeCloseTo(200_000, -1);
    console.log(
      `by heat ${solved.payload_kg.toFixed(3)} kg at ${time_s.toFixed(3)} s, by the clock ${other.payload_kg.toFixed(3)} kg; ` +
        `${solved.counts.flights} and ${other.counts.flights} flights`,
    );
  });
});
