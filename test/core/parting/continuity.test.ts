import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy, startValues, type CompiledStudy } from '../../../core/flight/compile.ts';
import { recordFlight, type FlightRecord } from '../../../core/flight/record.ts';
import { withPushedParting } from '../../../core/parting/links.ts';
import { workOutParting, type Parting } from '../../../core/parting/parting.ts';
import { LOWER, SIZE, UPPER } from '../../../core/parting/twoBody.ts';
import { closeUpAt } from '../../../core/replay/closeUp.ts';
import { applyMode } from '../../../core/study/applyMode.ts';
import { withGap } from '../../../core/study/gap.ts';
import { study } from '../../assets/demos.ts';

interface Flown {
  readonly compiled: CompiledStudy;
  readonly record: FlightRecord;
  readonly parting: Parting;
}

function fly(own: Study, link: string): Flown {
  const compiled = compileStudy(own);
  const record = recordFlight(compiled, startValues(compiled));
  return { compiled, record, parting: workOutParting(compiled, record, link) };
}

/** The last stage of the solid demo, near orbital speed, with springs that the demo does not have. */
function fast(): Study {
  const own = structuredClone(study('solid'));
  own.vehicle.bodies['third']!.link = {
    parting: 'pushed',
    mechanisms: {
      springs: {
        kind: 'springs',
        name: 'springs',
        body: 'third',
        mass_kg: 0,
        count: 4,
        pitchRadius_m: 0.4,
        stroke_m: 0.1,
        rate_Npm: 20_000,
        failed: 0,
      },
    },
  };
  return own;
}

/** Every demo's staging that carries mechanisms: its own, and the ways that it names. */
const cases: (readonly [string, () => Flown])[] = [
  ...(['heavy', 'small'] as const).flatMap((name) => {
    const own = study(name);
    return [
      [`${name} as it is`, (): Flown => fly(withPushedParting(own, 'upper'), 'upper')] as const,
      ...Object.entries(own.stagingModes!).map(([id, mode]) => {
        // Long enough for the bodies to be clear; the fixed gap of a way stays what it is.
        const gap_s = mode.gapRule.kind === 'fixed' ? mode.gapRule.gap_s : 6.5;
        return [
          `${name}, ${id}`,
          (): Flown => fly(withGap(applyMode(own, mode), 'ignition', gap_s), mode.link),
        ] as const;
      }),
    ];
  }),
  ['the last stage of solid, with springs', () => fly(fast(), 'third')],
];

describe.each(cases)('the replay across the parting of %s', (name, make) => {
  const { compiled, record, parting } = make();
  const { case: own, phase } = parting;
  const stack = [record.tracks[own.upperTrack]!, record.tracks[own.lowerTrack]!].reduce((p, q) =>
    q.start_s < p.start_s ? q : p,
  );
  const state = new Float64Array(12);
  /** Place and velocity of the point that stands for a body, inertial, at a time from release. */
  function at(track: number, t_s: number): { place: number[]; velocity: number[] } {
    const mission_s = own.release_s + t_s;
    (t_s < 0 ? stack : record.tracks[track]!).steps.sample(mission_s, state);
    return { place: [...state.subarray(0, 3)], velocity: [...state.subarray(3, 6)] };
  }

  it('does not jump by a millimetre, wherever a frame falls', () => {
    let worst_m = 0;
    fc.assert(
      fc.property(
        fc.boolean(),
        fc.oneof(
          fc.double({ min: -2, max: Math.min(4, phase.steps.end), noNaN: true }),
          // Steps that straddle the release.
          fc.double({ min: -2e-3, max: 0, noNaN: true }),
        ),
        fc.double({ min: 1e-5, max: 2e-3, noNaN: true }),
        (upper, from_s, h_s) => {
          const track = upper ? own.upperTrack : own.lowerTrack;
          // A nanosecond before release is before it in numbers too; there the body moves by 7 µm.
          const t_s = from_s < 0 ? Math.min(from_s, -1e-9) : from_s;
          const p = at(track, t_s);
          const q = at(track, t_s + h_s);
          // Let go by a turning stack, a body's velocity is another from the release on: a frame across it has one of each.
          const before_s = t_s < 0 ? Math.min(h_s, -t_s) : 0;
          const [u, v] = t_s < 0 && t_s + h_s > 0 ? [at(track, -1e-9), at(track, 0)] : [q, p];
          const miss = Math.hypot(
            ...p.place.map(
              (x, i) =>
                q.place[i]! -
                x -
                0.5 * before_s * (p.velocity[i]! + u.velocity[i]!) -
                0.5 * (h_s - before_s) * (v.velocity[i]! + q.velocity[i]!),
            ),
          );
          worst_m = Math.max(worst_m, miss);
          // The trapezium's own error is a h²/4 where the acceleration jumps by a: 40 m/s² · (2 ms)²/4 = 0.04 mm.
          return miss < 1e-3;
        },
      ),
      { seed: 7, numRuns: 300 },
    );
    const speed_mps = Math.hypot(...at(own.upperTrack, 0.001).velocity);
    console.log(
      `${name}: ${(1000 * worst_m).toFixed(4)} mm at ${(speed_mps / 1000).toFixed(2)} km/s inertial, ${phase.code}`,
    );
  });

  it('shows the same gap as the flight to a millimetre, until the bodies are clear', () => {
    const y = new Float64Array(SIZE);
    phase.steps.sample(0, y);
    const start = [y[UPPER]! - y[LOWER]!, y[UPPER + 1]! - y[LOWER + 1]!] as const;
    const clear_s = Math.min(phase.steps.end, Math.max(0.5, phase.rimOut_s));
    const from = at(own.upperTrack, 0).place.map((x, i) => x - at(own.lowerTrack, 0).place[i]!);
    let worst_m = 0;
    let worstAcross_m = 0;
    const { turning_radps, upper, lower } = own.bodies;
    for (let i = 1; i <= 40; i++) {
      const t = (clear_s * i) / 40;
      const apart = at(own.upperTrack, t).place.map((x, i) => x - at(own.lowerTrack, t).place[i]! - from[i]!);
      const dot = (axis: Float64Array): number => axis.reduce((sum, a, i) => sum + a * apart[i]!, 0);
      const view = closeUpAt(compiled, record, parting, null, own.release_s + t);
      phase.steps.sample(t, y);
      expect(Math.abs(dot(own.along) - (y[UPPER]! - y[LOWER]! - start[0]))).toBeLessThan(1e-3);
      expect(Math.abs(dot(own.across) - (y[UPPER + 1]! - y[LOWER + 1]! - start[1]))).toBeLessThan(1e-3);
      // What the flight shows between the planes of separation: both bodies turn on as the stack did.
      const angle = turning_radps * t;
      const [c, s] = [Math.cos(angle), Math.sin(angle)];
      const reach_m = upper.centre_m + lower.centre_m;
      const along_m = start[0] + dot(own.along) - reach_m * c;
      const across_m = start[1] + dot(own.across) - reach_m * s;
      worst_m = Math.max(worst_m, Math.abs(view.gap_m - (along_m * c + across_m * s)));
      worstAcross_m = Math.max(worstAcross_m, Math.abs(view.drift_m - (across_m * c - along_m * s)));
    }
    console.log(
      `${name}: gap on show and in flight ${(1000 * worst_m).toFixed(3)} mm, across ${(1000 * worstAcross_m).toFixed(3)} mm`,
    );
    expect(worst_m).toBeLessThan(1e-3);
    expect(worstAcross_m).toBeLessThan(1e-3);
  });
});
