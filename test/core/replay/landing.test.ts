import { describe, expect, it } from 'vitest';
import { compileStudy } from '../../../core/flight/compile.ts';
import type { Place } from '../../../core/replay/bodyFrame.ts';
import { solveHomeward } from '../../../core/replay/homeward.ts';
import { landingAt, type LandingView } from '../../../core/replay/landing.ts';
import { landingTrack, prepareLanding, type LandingScene } from '../../../core/replay/landingScene.ts';
import { heavyWith } from '../recovery/studies.ts';

const solved = new Map<string, ReturnType<typeof solve>>();
function solve(plan: string) {
  const { review, flown } = solveHomeward(heavyWith(plan, () => null).study, plan, plan === 'to-site');
  const compiled = compileStudy(flown!.study);
  const track = landingTrack(compiled, flown!.flight);
  return {
    compiled,
    review: review!,
    flight: flown!.flight,
    scene: prepareLanding(compiled, flown!.flight, track),
  };
}
function landing(plan: string): ReturnType<typeof solve> {
  const known = solved.get(plan) ?? solve(plan);
  solved.set(plan, known);
  return known;
}

const DEG = Math.PI / 180;
const placesOf = ({ bodies, foot }: LandingView): Place[] =>
  bodies
    .flatMap(({ outline, bells }) => [...outline, ...bells.flat()])
    .map(([along, up]) => [foot[0] + along, foot[1] + up]);
const burnOf = (plan: string, phase: string) =>
  landing(plan).review.burns.find((burn) => burn.phase === phase)!;

describe.each(['downrange', 'to-site'])('the landing of a body that flies home (%s)', (plan) => {
  it('ends with its feet on the ground, at the touchdown, within a centimetre', () => {
    const { scene } = landing(plan);
    const down = landingAt(scene, scene.end_s);
    expect(Math.abs(Math.min(...placesOf(down).map(([, up]) => up)))).toBeLessThan(0.01);
    expect(Math.hypot(...down.foot)).toBeLessThan(0.01);
    // And above it at every moment before: nothing passes through the ground.
    for (let back = 60; back > 0; back -= 0.25) {
      const view = landingAt(scene, scene.end_s - back);
      expect(Math.min(...placesOf(view).map(([, up]) => up))).toBeGreaterThan(-1e-6);
    }
  }, 120_000);

  it('moves as thrust, gravity, air and the turning ground have it, from frame to frame', () => {
    const { scene } = landing(plan);
    const { reader, compiled, up, along } = scene;
    const h = 0.01;
    const pull = new Float64Array(3);
    const w = reader.rotation_radps;
    for (const back of [12.3, 9.1, 5.7, 2.2, 0.4]) {
      const t = scene.end_s - back;
      const [before, here, after] = [-h, 0, h].map((dt) => landingAt(scene, t + dt).foot);
      const now = reader.at(t);
      const [x, y, z, vx, vy, vz] = now.state as unknown as number[];
      compiled.setting.gravity.acceleration(x!, y!, z!, pull);
      const through = [vx! + w * y!, vy! - w * x!, vz!];
      const inertial = [0, 1, 2].map(
        (k) =>
          pull[k]! +
          (now.thrustNet_N * now.aim[k]! - (now.drag_N * through[k]!) / Math.hypot(...through)) / now.mass_kg,
      );
      // Seen from the turning ground: less 2 ω × u and ω × (ω × r).
      const seen = [
        inertial[0]! + 2 * w * through[1]! + w * w * x!,
        inertial[1]! - 2 * w * through[0]! + w * w * y!,
        inertial[2]!,
      ];
      const [c, s] = [Math.cos(w * t), Math.sin(w * t)];
      const fixed = [c * seen[0]! + s * seen[1]!, c * seen[1]! - s * seen[0]!, seen[2]!];
      [along, up].forEach((axis, k) => {
        const bend = (after![k]! - 2 * here![k]! + before![k]!) / (h * h);
        const expected = fixed.reduce((sum, v, i) => sum + v * axis[i]!, 0);
        // A nanometre of rounding at the Earth's radius, over 1e-4 s²; and the interpolant's own 1e-3 m/s².
        expect(Math.abs(bend - expected)).toBeLessThan(5e-3);
      });
    }
  }, 120_000);

  it('shows engines for as long as they thrust, and the propellant that they leave', () => {
    const { scene, review } = landing(plan);
    const burn = burnOf(plan, 'landing');
    // Nothing for the delay of the start-up, 0.3 s; then a ramp of 1.5 s.
    expect(landingAt(scene, burn.start_s + 0.29).plumes).toEqual([]);
    const full = landingAt(scene, burn.start_s + 2);
    expect([full.engines, full.enginesOfAll]).toEqual([2, 14]);
    expect(full.thrust_N / (2 * 1.94e6)).toBeCloseTo(0.95, 6);
    expect(full.plumes.map(({ share }) => share)).toEqual([full.throttle]);
    const rising = landingAt(scene, burn.start_s + 0.3 + 0.75);
    // The review flies from the solve's parting, the picture from the recorded one: microseconds apart, on a ramp of 0.63/s.
    expect(rising.throttle).toBeCloseTo(0.475, 4);
    expect(landingAt(scene, scene.end_s - 1e-3).plumes).toHaveLength(1);
    expect(landingAt(scene, scene.end_s).plumes).toEqual([]);
    const entry = burnOf(plan, 'entry');
    const taken_kg =
      landingAt(scene, entry.start_s).onBoard_kg - landingAt(scene, entry.end_s + 1e-6).onBoard_kg;
    expect(taken_kg).toBeCloseTo(entry.propellant_kg, 0);
    expect(landingAt(scene, 0.5 * (entry.start_s + entry.end_s)).engines).toBe(4);
    expect(review.touchdown_s).toBeCloseTo(scene.end_s, 3);
  }, 120_000);

  it('stands as it is steered: turns at its rate, then tail first against the air', () => {
    const { scene } = landing(plan);
    const segment = (phase: string) => {
      const at = scene.home.legs.findIndex((leg) => leg.phase === phase);
      return scene.reader.track.segments[at]!;
    };
    const turn = segment('turn');
    const half = landingAt(scene, 0.5 * (turn.start_s + turn.end_s));
    // The turn lies all but in the picture's plane.
    expect(Math.abs(half.turning_radps) / DEG).toBeCloseTo(9, 1);
    const descent = segment('descent');
    const falling = landingAt(scene, 0.5 * (descent.start_s + descent.end_s));
    expect(falling.offAir_rad).toBeLessThan(1e-6);
    const through = Math.atan2(falling.airVelocity[1], falling.airVelocity[0]);
    const axis = falling.bodies[0]!.attitude_rad;
    expect(Math.cos(axis - through)).toBeCloseTo(-1, 6);
    // Foot and nose of the outline lie along that axis.
    const { outline } = falling.bodies[0]!;
    const middle = (p: Place, q: Place): Place => [0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])];
    const foot = middle(outline[0]!, outline.at(-1)!);
    const nose = middle(outline[outline.length / 2 - 1]!, outline[outline.length / 2]!);
    expect(Math.atan2(nose[1] - foot[1], nose[0] - foot[0])).toBeCloseTo(axis, 9);
    expect(Math.hypot(nose[0] - foot[0], nose[1] - foot[1])).toBeCloseTo(39.5, 6);
  }, 120_000);

  it('tells height and speeds against the ground', () => {
    const { scene } = landing(plan);
    for (const back of [80, 20, 3]) {
      const t = scene.end_s - back;
      const view = landingAt(scene, t);
      const h = 0.02;
      const rate = (landingAt(scene, t + h).height_m - landingAt(scene, t - h).height_m) / (2 * h);
      // Central differences of a fall that brakes with 20 m/s² and a jerk below 5 m/s³: h²/6 of it.
      expect(view.down_mps).toBeCloseTo(-rate, 2);
      const { speedRelative_mps } = scene.reader.at(t);
      expect(Math.hypot(view.down_mps, view.sideways_mps)).toBeCloseTo(speedRelative_mps, 6);
    }
  }, 120_000);

  it('shows less and less of the way, smoothly, down to sixty metres', () => {
    const { scene } = landing(plan);
    const shown = (back: number): number => landingAt(scene, scene.end_s - back).shown_m;
    expect(shown(0)).toBeCloseTo(Math.max(60, 1.45 * scene.length_m), 9);
    let before = Number.POSITIVE_INFINITY;
    for (let back = 25; back >= 0; back -= 0.05) {
      const now = shown(back);
      expect(now).toBeLessThanOrEqual(before);
      before = now;
    }
    // The same time gives the same picture, whatever was looked at in between.
    const first = landingAt(scene, scene.end_s - 4);
    landingAt(scene, scene.start_s);
    expect(landingAt(scene, scene.end_s - 4)).toEqual(first);
  }, 120_000);
});

describe('the scene of a landing', () => {
  const wayAt = ({ way, ground }: LandingScene, i: number): number[] => [
    way[2 * i]! - ground[2 * i]!,
    way[2 * i + 1]! - ground[2 * i + 1]!,
  ];
  it('has the ground as far below the way as the body is high, round as the Earth is', () => {
    const { scene } = landing('downrange');
    for (const i of [0, 40, 200]) {
      const { height_m } = scene.reader.at(scene.times_s[i]!);
      expect(Math.hypot(...wayAt(scene, i))).toBeCloseTo(height_m - scene.ground_m, -1);
    }
    const [along, drop] = [scene.ground[0]!, scene.ground[1]!];
    // A sphere of the mean radius; the ellipsoid's own curvature differs by up to one per cent.
    expect(drop / (-(along * along) / (2 * 6_371_000))).toBeCloseTo(1, 1);
  }, 120_000);

  it('is refused for a body that does not fly home', () => {
    const { compiled, flight } = landing('downrange');
    expect(() => prepareLanding(compiled, flight, 0)).toThrow(RangeError);
    const tracks = flight.tracks.map(({ home, ...rest }) => (home === undefined ? rest : rest));
    expect(landingTrack(compiled, { ...flight, tracks })).toBe(-1);
  }, 120_000);
});
