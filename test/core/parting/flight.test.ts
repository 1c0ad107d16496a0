import { describe, expect, it } from 'vitest';
import { AZIMUTH, compileStudy, recompile, startValues } from '../../../core/flight/compile.ts';
import { launchFrame } from '../../../core/flight/launch.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { TrackReader } from '../../../core/flight/track.ts';
import { chooseLink, withFailedPushers, withPushedParting } from '../../../core/parting/links.ts';
import { safeIgnition, workOutParting } from '../../../core/parting/parting.ts';
import { LOWER, SIZE, UPPER } from '../../../core/parting/twoBody.ts';
import type { Study } from '../../../core/contract/study.ts';
import { once, study } from '../../assets/demos.ts';

/** The demos with mechanisms. */
const SPRUNG = ['heavy', 'small'] as const;
const pushed = (own: Study): Study => withPushedParting(own, 'upper');
const parted = once((name) => {
  const compiled = compileStudy(pushed(study(name)));
  const record = recordFlight(compiled, startValues(compiled));
  return { compiled, record, parting: workOutParting(compiled, record, 'upper') };
});

describe.each(SPRUNG)('the parting of the demo "%s"', (name) => {
  it('agrees with the flight on where both bodies are, to a millimetre until they are clear', () => {
    const { record, parting } = parted(name);
    const { case: own, phase } = parting;
    expect(phase.code).toBe('clear');
    const upper = new Float64Array(12);
    const lower = new Float64Array(6);
    const y = new Float64Array(SIZE);
    phase.steps.sample(0, y);
    const start = [y[UPPER]! - y[LOWER]!, y[UPPER + 1]! - y[LOWER + 1]!];
    let worst_m = 0;
    // Thrice as long as it takes to be clear of the interstage, and until the upper stage burns.
    for (let t = 0; t < 4 * phase.rimOut_s; t += 0.02) {
      record.tracks[own.upperTrack]!.steps.sample(own.release_s + t, upper);
      record.tracks[own.lowerTrack]!.steps.sample(own.release_s + t, lower);
      phase.steps.sample(t, y);
      [own.along, own.across].forEach((axis, k) => {
        const flown = axis.reduce((sum, a, i) => sum + a * (upper[i]! - lower[i]!), 0);
        worst_m = Math.max(worst_m, Math.abs(flown - (y[UPPER + k]! - y[LOWER + k]! - start[k]!)));
      });
    }
    console.log(`${name}: flight and parting differ by ${(1000 * worst_m).toFixed(3)} mm at most`);
    expect(worst_m).toBeLessThan(1e-3);
  });

  it('leaves the flight as it was when the bodies part at once', () => {
    const bare = structuredClone(study(name));
    delete bare.vehicle.bodies['upper']!.link;
    const plain = compileStudy(bare);
    const own = recompile(plain, study(name));
    const a = recordFlight(plain, startValues(plain));
    const b = recordFlight(own, startValues(own));
    expect(b.orbit).toEqual(a.orbit);
    expect(b.log).toEqual(a.log);
  });
});

describe('drag at the parting of the small demo', () => {
  it('is half the density times speed squared, coefficient and area, against the motion through the air', () => {
    const { compiled, record, parting } = parted('small');
    const { case: own } = parting;
    for (const [side, index] of [
      ['upper', own.upperTrack],
      ['lower', own.lowerTrack],
    ] as const) {
      const track = record.tracks[index]!;
      const reader = new TrackReader(
        compiled,
        track,
        record.values,
        launchFrame(compiled.site, record.values[AZIMUTH]!),
      );
      const now = reader.at(own.release_s);
      const drag = compiled.drags[track.segments[now.segment]!.arrangement]!;
      const { coefficient, referenceArea_m2 } = drag;
      const value = coefficient.evaluate(now.mach, coefficient.pieceAt(now.mach));
      const size_N = 0.5 * now.density_kgpm3 * now.speedAir_mps ** 2 * referenceArea_m2 * value;
      const along_N = own.bodies[side].dragAlong_N(0);
      const across_N = own.bodies[side].dragAcross_N(0);
      console.log(`${side}: ${along_N.toFixed(2)} N along, ${across_N.toFixed(2)} N across`);
      // Air as thin as a hundred-thousandth of that at the ground, and still a hundred newtons and more.
      expect(now.density_kgpm3).toBeLessThan(1e-4);
      expect(size_N).toBeGreaterThan(1);
      expect(Math.hypot(along_N, across_N) / size_N).toBeCloseTo(1, 6);
      expect(along_N).toBeLessThan(0);
    }
  });
});

describe('springs in a flight', () => {
  it('give both bodies the impulse of the two-body phase, opposite and equal', () => {
    const { record, parting } = parted('small');
    const strokes = record.plan.pushes.filter((push) => push.flow_kgps === 0);
    const impulse = (body: number): number =>
      strokes
        .filter((push) => push.body === body)
        .reduce((sum, { start_s, end_s, force_N, rate_Nps }) => {
          const h = end_s - start_s;
          return sum + h * (force_N + 0.5 * h * rate_Nps);
        }, 0);
    const [upper, lower] = ['upper', 'booster'].map((id) =>
      parted('small').compiled.bodies.findIndex((body) => body.id === id),
    );
    expect(impulse(upper!)).toBeCloseTo(-impulse(lower!), 9);
    // Energy: half a per cent and a bit is drag, which helps the gap open.
    const { above, below } = parting.case;
    const reduced_kg = (above.mass_kg * below.mass_kg) / (above.mass_kg + below.mass_kg);
    const free_Ns = Math.sqrt(2 * reduced_kg * 4 * 0.5 * 36_000 * 0.15 ** 2);
    expect(impulse(upper!) / free_Ns).toBeGreaterThan(0.985);
    expect(impulse(upper!) / free_Ns).toBeLessThan(1);
  });

  it('that fail make the small demo touch its interstage, and say where', () => {
    const compiled = compileStudy(withFailedPushers(pushed(study('small')), 'upper', 1));
    const record = recordFlight(compiled, startValues(compiled));
    const { phase } = workOutParting(compiled, record, 'upper');
    expect(phase.code).toBe('recontact');
    expect(phase.message).toContain('at the rim of the interstage');
    expect(safeIgnition(compiled, record, 'upper', 1.5, 0).delay_s).toBeNaN();
  });
});

describe('an upper stage that fires at its own booster', () => {
  const hot = (share: number): Study => {
    const own = structuredClone(pushed(study('heavy')));
    own.vehicle.bodies['upper']!.link!.mechanisms['ring'] = {
      ...own.vehicle.bodies['upper']!.link!.mechanisms['ring']!,
      kind: 'ring',
      impingement: { distance_m: [0, 10], share: [share, 0] },
    };
    return own;
  };

  it('moves the stack with what its plume leaves, counted once', () => {
    const joined = (share: number): { thrust_N: number; upper_N: number } => {
      const { plan, bodies } = compileStudy(hot(share));
      const released = plan.eventTimes_s[plan.eventTimes_s.length - 4]!;
      const segment = plan.segments
        .filter((s) => s.bodies.length === bodies.length && s.end_s <= released)
        .at(-1)!;
      const upper = bodies.findIndex((body) => body.id === 'upper');
      const upper_N = segment.burns.filter((b) => b.body === upper).reduce((sum, b) => sum + b.thrust_N, 0);
      return { thrust_N: segment.thrust_N, upper_N };
    };
    const none = joined(0);
    const some = joined(0.4);
    expect(none.upper_N).toBeGreaterThan(0);
    // F(1 − k): only the upper stage's share is taken, and only once.
    expect(none.thrust_N - some.thrust_N).toBeCloseTo(0.4 * none.upper_N, 3);
  });

  it('pushes the booster back after release, and the flight follows to a millimetre', () => {
    const compiled = compileStudy(hot(0.4));
    const record = recordFlight(compiled, startValues(compiled));
    const { case: own, phase } = workOutParting(compiled, record, 'upper');
    expect(phase.code).toBe('clear');
    const plain = parted('heavy').parting;
    expect(phase.opening.lower_mps2).toBeLessThan(plain.phase.opening.lower_mps2 - 5);
    const upper = new Float64Array(12);
    const lower = new Float64Array(6);
    const y = new Float64Array(SIZE);
    phase.steps.sample(0, y);
    const start_m = y[UPPER]! - y[LOWER]!;
    let worst_m = 0;
    // At the ends of the plan's spans the force's integrals are met exactly.
    for (const push of record.plan.pushes) {
      const t = push.end_s - own.release_s;
      record.tracks[own.upperTrack]!.steps.sample(push.end_s, upper);
      record.tracks[own.lowerTrack]!.steps.sample(push.end_s, lower);
      phase.steps.sample(t, y);
      const flown = own.along.reduce((sum, a, i) => sum + a * (upper[i]! - lower[i]!), 0);
      worst_m = Math.max(worst_m, Math.abs(flown - (y[UPPER]! - y[LOWER]! - start_m)));
    }
    expect(record.plan.pushes.length).toBeGreaterThan(5);
    console.log(`plume push: flight and parting differ by ${(1000 * worst_m).toFixed(3)} mm`);
    expect(worst_m).toBeLessThan(1e-3);
  });
});

describe('motors in a flight', () => {
  it('burn their propellant away and give their impulse', () => {
    const own = structuredClone(pushed(study('small')));
    own.vehicle.bodies['upper']!.link!.mechanisms = {
      settling: {
        kind: 'settling',
        name: 'motors',
        body: 'upper',
        mass_kg: 4,
        count: 2,
        pitchRadius_m: 0.6,
        thrust_N: 500,
        burn_s: 2,
        propellant_kg: 1,
        cant_deg: 60,
        ignitionDelay_s: -0.5,
      },
    };
    const { plan, bodies } = compileStudy(own);
    const released = plan.pushes[0]!.start_s + 0.5;
    expect(plan.eventTimes_s.some((t) => Math.abs(t - released) < 1e-9)).toBe(true);
    // Two motors of 500 N at 60 degrees: 500 N along the axis.
    expect(plan.pushes[0]!.force_N).toBeCloseTo(500, 9);
    const upper = bodies.findIndex((body) => body.id === 'upper');
    const before = plan.segments.find((s) => s.end_s === plan.pushes[0]!.start_s)!;
    const after = plan.segments.find((s) => s.start_s >= plan.pushes[0]!.end_s)!;
    const own_kg = (s: typeof after): number =>
      s.mass_kg -
      s.bodies
        .filter((b) => b !== upper)
        .reduce((sum, b) => sum + bodies[b]!.dry_kg + s.propellant_kg[b]!, 0);
    expect(own_kg(before) - own_kg(after)).toBeCloseTo(2, 6);
  });
});

it('the link that is meant is the first that carries mechanisms, and an unknown one is told', () => {
  expect(chooseLink(study('small'))).toBe('upper');
  expect(() => chooseLink(study('small'), 'booster')).toThrow(
    'link: received "booster", allowed is "upper" or',
  );
});
