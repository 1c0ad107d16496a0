import { describe, expect, it } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy, PAYLOAD, startValues, type CompiledStudy } from '../../../core/flight/compile.ts';
import { RECORD_ACCURACY, SOLVE_ACCURACY } from '../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { groupBalance, kickSpeed_mps, otherSide } from '../../../core/flight/spin.ts';
import type { SpinKick } from '../../../core/flight/spinTypes.ts';
import { compileReturn } from '../../../core/recovery/compile.ts';
import { HeldStart } from '../../../core/recovery/heldStart.ts';
import { startOfReturn } from '../../../core/recovery/start.ts';
import { applyMode } from '../../../core/study/applyMode.ts';
import { withGap } from '../../../core/study/gap.ts';
import { study } from '../../assets/demos.ts';

/** A demo let go by turning, with time enough before the upper stage lights; `change` comes last. */
function turned(name: string, change: (own: Study) => void = () => undefined): Study {
  const own = structuredClone(
    withGap(applyMode(study(name), study(name).stagingModes!['spin']!), 'ignition', 6.5),
  );
  change(own);
  return own;
}

const rate_radps = (name: string): number => {
  const turn = study(name).stagingModes!['spin']!.mechanisms['turn']!;
  return turn.kind === 'spin' ? (turn.rate_degps * Math.PI) / 180 : Number.NaN;
};

describe('the jump of velocity at a release from a turning stack', () => {
  // Two bodies of 6 t and 2 t, centres 4 m above and 8 m below the plane of separation, half a radian a second.
  const kick: SpinKick = {
    rate_radps: 0.5,
    goesAbove: true,
    above: { mass_kg: 6000, centre_m: 4, payload_m: 10 },
    below: { mass_kg: 2000, centre_m: 8, payload_m: Number.NaN },
  };

  it('is turning rate times distance from the common centre', () => {
    // The common centre lies 12 m · 2/8 = 3 m below the upper one.
    expect(kickSpeed_mps(kick, 0)).toBeCloseTo(1.5, 12);
    expect(kickSpeed_mps(otherSide(kick), 0)).toBeCloseTo(-4.5, 12);
  });

  it('has no momentum about the common centre, whatever the payload', () => {
    for (const payload_kg of [0, 500, 4000]) {
      const up = (6000 + payload_kg) * kickSpeed_mps(kick, payload_kg);
      const down = 2000 * kickSpeed_mps(otherSide(kick), payload_kg);
      // Rounding of numbers of 1e4.
      expect(up + down).toBeCloseTo(0, 9);
    }
  });

  it('takes the payload to the body that it rides on', () => {
    // 2 t at 10 m: the upper centre rises to 5.5 m, 13.5 m from the lower; the common centre is a fifth of that below it.
    expect(kickSpeed_mps(kick, 2000)).toBeCloseTo(0.5 * 13.5 * 0.2, 12);
  });
});

describe.each(['heavy', 'small'])('a spin release in the flight of %s', (name) => {
  const own = turned(name);
  const compiled = compileStudy(own);
  const record = recordFlight(compiled, startValues(compiled));
  const [main, freed] = record.tracks as [(typeof record.tracks)[0], (typeof record.tracks)[0]];
  const release_s = freed.start_s;
  const at = (track: typeof main, t_s: number): Float64Array => {
    const y = new Float64Array(track.steps.dimension);
    track.steps.sample(t_s, y);
    return y;
  };
  const before = at(main, release_s - 1e-7);
  const after = at(main, release_s);
  const other = at(freed, release_s);
  const above = main.segments.find((segment) => segment.start_s === release_s)!;
  const below = freed.segments[0]!;
  const above_kg = above.mass_kg + main.extra_kg;

  it('keeps linear momentum and place', () => {
    for (const i of [3, 4, 5]) {
      const all = (above_kg * after[i]! + below.mass_kg * other[i]!) / (above_kg + below.mass_kg);
      // A tenth of a microsecond of some 30 m/s².
      expect(Math.abs(all - before[i]!)).toBeLessThan(5e-6);
    }
    for (const i of [0, 1, 2]) {
      expect(Math.abs(after[i]! - before[i]! - 1e-7 * before[3 + i]!)).toBeLessThan(1e-6);
      expect(other[i]).toBe(after[i]);
    }
  });

  it('parts them at turning rate times the distance of their centres, across the stack', () => {
    const apart = [3, 4, 5].map((i) => after[i]! - other[i]!);
    const payload = { body: compiled.bodies.findIndex(({ id }) => id === own.payload.ridesOn), mass_kg: 0 };
    const sides = [above, below].map((segment) =>
      groupBalance(compiled.bodies, segment.bodies, segment.mass_kg, segment.propellant_kg, {
        ...payload,
        mass_kg: segment === above ? main.extra_kg : 0,
      }),
    ) as [ReturnType<typeof groupBalance>, ReturnType<typeof groupBalance>];
    // The stack whole, by the parallel-axis theorem: its spin is that of the bodies and of their centres about the common one.
    const joined = groupBalance(
      compiled.bodies,
      [...below.bodies, ...above.bodies],
      above.mass_kg + below.mass_kg,
      above.propellant_kg,
      { ...payload, mass_kg: main.extra_kg },
    );
    const reduced_kg = (above_kg * below.mass_kg) / (above_kg + below.mass_kg);
    const distance_m = Math.sqrt(
      (joined.inertia_kgm2 - sides[0].inertia_kgm2 - sides[1].inertia_kgm2) / reduced_kg,
    );
    const speed_mps = Math.hypot(...apart);
    console.log(`${name}: ${speed_mps.toFixed(4)} m/s apart, ${distance_m.toFixed(2)} m between centres`);
    // A difference of velocities of some km/s.
    expect(speed_mps / (rate_radps(name) * distance_m)).toBeCloseTo(1, 9);
    // Toward the sky above, and at right angles to the axis.
    expect([0, 1, 2].reduce((sum, i) => sum + apart[i]! * after[i]!, 0)).toBeGreaterThan(0);
    expect([0, 1, 2].reduce((sum, i) => sum + apart[i]! * freed.heldAim![i]!, 0) / speed_mps).toBeCloseTo(
      0,
      9,
    );
  });

  it('leaves the ledger closed', () => {
    // The sum over some hundred steps of 1e-11 of some km/s each.
    expect(Math.abs(record.ledger!.closure_mps)).toBeLessThan(1e-5);
  });
});

/** A study with the release found by height, and with times that the flight must find: another way through the engine. */
const waiting = (): Study =>
  turned('small', (own) => {
    own.sequence.events.push({
      id: 'ease',
      name: 'Ease',
      trigger: { kind: 'altitude', height_m: 20_000, passing: 'rising' },
      action: { kind: 'throttle', body: 'booster', group: 'main', level: 0.95 },
    });
    own.vehicle.bodies['booster']!.engineGroups['main']!.throttle = { least: 0.5, most: 1 };
  });

describe.each([
  ['by the clock', turned('small')],
  ['after a state trigger', waiting()],
] as const)('flights over held steps across a spin release, %s', (name, own) => {
  const compiled: CompiledStudy = compileStudy(own);
  const values = startValues(compiled);
  const first = compiled.parameters[PAYLOAD]!;

  it('give the end state again', () => {
    const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
    expect(engine.fly(values), engine.status.message).toBe('flown');
    const end = [...engine.end];
    expect(engine.refly(values, engine.firstSegmentOf(first))).toBe(true);
    // Event times found on a step's interpolant or on the step itself: 1e-9 s, at some km/s.
    end.forEach((value, i) => expect(engine.end[i]! - value).toBeCloseTo(0, i < 3 ? 4 : 7));
    const mid = engine.plan.segments.findIndex((segment) => segment.kicks !== undefined);
    expect(mid).toBeGreaterThan(0);
    if (name !== 'by the clock') return;
    for (const from of [mid - 1, mid, mid + 1]) {
      engine.refly(values, from);
      expect([...engine.end], `from segment ${from}`).toEqual(end);
    }
  });

  it('have the derivatives of whole flights, for every number', () => {
    const engine = new FlightEngine(compiled, RECORD_ACCURACY);
    let worst = 0;
    compiled.parameters.forEach((parameter, p) => {
      if (!parameter.free) return;
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
      const held = after.map((value, i) => (value - before[i]!) / (2 * narrow));
      for (const [from, to] of [
        [0, 3],
        [3, 6],
      ] as const) {
        const size = Math.hypot(...whole.slice(from, to));
        const apart = Math.hypot(...held.slice(from, to).map((x, i) => x - whole[from + i]!));
        if (size > 0) worst = Math.max(worst, apart / size);
      }
    });
    console.log(`${name}: ${worst.toExponential(1)} off`);
    // Of central differences over a hundredth of a per cent and more: their second order.
    expect(worst).toBeLessThan(1e-4);
  });
});

it('a stack that does not turn has nothing of it in its plan', () => {
  const own = study('small');
  const { plan } = compileStudy(applyMode(own, own.stagingModes!['springs']!));
  for (const { segments } of [plan, ...plan.branches])
    for (const segment of segments) expect('kicks' in segment).toBe(false);
});

it('a body without an outline cannot be let go by turning: the plan says so', () => {
  const own = turned('small', (changed) => delete changed.vehicle.bodies['upper']!.shape);
  expect(() => compileStudy(own)).toThrow(/vehicle\.bodies\.upper\.shape: received nothing, allowed is/);
});

describe('a flight home from a spin release', () => {
  const compiled = compileStudy(turned('heavy'));
  const values = startValues(compiled);
  const plan = Object.keys(compiled.study.returns!.plans)[0]!;
  const { body, reserve_kg } = compileReturn(compiled, plan);

  it('begins where and how fast the freed body is', () => {
    const engine = new FlightEngine(compiled, RECORD_ACCURACY);
    engine.fly(values);
    const start = startOfReturn(engine, body, reserve_kg, values, compiled.makeLaws())!;
    const freed = recordFlight(compiled, values).tracks.find(({ bodies }) => bodies.includes(body))!;
    const y = new Float64Array(6);
    freed.steps.sample(freed.start_s, y);
    // The recorded flight keeps a ledger, and its steps differ a little for it: by 1e-6 m/s.
    start.state.forEach((value, i) => expect(value - y[i]!).toBeCloseTo(0, i < 3 ? 3 : 5));
  });

  it('follows the payload over held steps as over whole flights', () => {
    const starts = (payload_kg: number, whole: boolean): number[] => {
      const engine = new FlightEngine(compiled, RECORD_ACCURACY);
      const moved = Float64Array.from(values);
      if (!whole) engine.fly(values);
      moved[PAYLOAD]! += payload_kg;
      if (whole) engine.fly(moved);
      const held = new HeldStart(engine, body);
      if (whole) return [...held.flown(reserve_kg, moved)!.state];
      held.flown(reserve_kg, values);
      held.begin();
      engine.refly(moved, engine.firstSegmentOf(compiled.parameters[PAYLOAD]!));
      return [...held.ended(reserve_kg, moved).state];
    };
    const slope = (h_kg: number, whole: boolean): number[] => {
      const up = starts(h_kg, whole);
      return starts(-h_kg, whole).map((value, i) => (up[i]! - value) / (2 * h_kg));
    };
    const whole = slope(50, true);
    const held = slope(5, false);
    const size = Math.hypot(...whole.slice(3));
    const apart = Math.hypot(...held.slice(3).map((x, i) => x - whole[3 + i]!));
    console.log(`velocity at parting against payload: ${(apart / size).toExponential(1)} off`);
    // Steps of whole flights differ by 1e-8 m/s, against some 1e-3 m/s a kilogram times 100 kg.
    expect(apart / size).toBeLessThan(1e-5);
  });
});
