import { describe, expect, it } from 'vitest';
import { AlongMotionLaw } from '../../../../core/flight/steering/alongMotion.ts';
import { AttitudeLaw } from '../../../../core/flight/steering/attitude.ts';
import { Axes } from '../../../../core/flight/steering/axes.ts';
import { BilinearTangentLaw } from '../../../../core/flight/steering/bilinearTangent.ts';
import { LinearTangentLaw } from '../../../../core/flight/steering/linearTangent.ts';
import type { LaunchFrame, SteeringLaw } from '../../../../core/flight/steering/law.ts';

const DEG = Math.PI / 180;
// On the x axis, toward the north.
const launch: LaunchFrame = { up: Float64Array.of(1, 0, 0), ahead: Float64Array.of(0, 0, 1) };
// Above the x axis, moving up and along −z.
const moving = Float64Array.of(7e6, 0, 0, 300, 0, -5000);

function aim(law: SteeringLaw, t_s: number, y = moving): number[] {
  const out = Float64Array.of(1, 0, 0);
  law.point(t_s, out, y);
  expect(Math.hypot(...out)).toBeCloseTo(1, 14);
  return [...out];
}

function expectDirection(actual: number[], wanted: readonly number[], digits = 14): void {
  wanted.forEach((each, i) => expect(actual[i]).toBeCloseTo(each, digits));
}

describe('bilinear tangent', () => {
  const law = new BilinearTangentLaw(1, 200);

  it('has tan θ = (a + b t)/(c + d t), with the angles given at both ends of the span', () => {
    law.read(Float64Array.of(0, 50 * DEG, -10 * DEG, 1.7));
    law.start(100, moving, launch);
    const tangent = (t: number): number => {
      const [x, , z] = aim(law, 100 + t);
      return x! / -z!;
    };
    expect(tangent(0)).toBeCloseTo(Math.tan(50 * DEG), 13);
    expect(tangent(200)).toBeCloseTo(Math.tan(-10 * DEG), 13);
    const [a, c] = [Math.sin(50 * DEG), Math.cos(50 * DEG)];
    const b = (1.7 * Math.sin(-10 * DEG) - a) / 200;
    const d = (1.7 * Math.cos(-10 * DEG) - c) / 200;
    for (const t of [20, 77, 150, 260]) expect(tangent(t)).toBeCloseTo((a + b * t) / (c + d * t), 12);
    // Four points of a bilinear function keep their cross-ratio.
    const at = [10, 60, 110, 190] as const;
    const cross = ([p, q, r, s]: readonly number[]): number =>
      ((r! - p!) * (s! - q!)) / ((r! - q!) * (s! - p!));
    expect(cross(at.map(tangent))).toBeCloseTo(cross(at), 11);
  });

  it('is the linear tangent law when the weight is the ratio of the cosines', () => {
    const linear = new LinearTangentLaw(0, 1);
    law.read(Float64Array.of(0, 50 * DEG, -10 * DEG, Math.cos(50 * DEG) / Math.cos(-10 * DEG)));
    linear.read(Float64Array.of(Math.tan(50 * DEG), (Math.tan(-10 * DEG) - Math.tan(50 * DEG)) / 200));
    law.start(100, moving, launch);
    linear.start(100, moving);
    for (const t of [100, 170, 300, 420]) expectDirection(aim(law, t), aim(linear, t), 13);
  });
});

describe('a free attitude profile', () => {
  const nodes = { after_s: [0, 10, 30], pitchIndex: [0, 2, 3], yawIndex: [1, -1, 4] };

  it('points at pitch above the horizon and yaw to the right, in the axes of the release', () => {
    const law = new AttitudeLaw({ ...nodes, axes: 'launch', shape: 'spline' });
    law.read(Float64Array.of(90 * DEG, 0, 40 * DEG, 30 * DEG, 20 * DEG));
    law.start(5, moving, launch);
    expectDirection(aim(law, 5), [1, 0, 0]);
    // Facing north with the x axis up, east is to the right: +y.
    expectDirection(aim(law, 35), [
      Math.cos(20 * DEG) * Math.sin(30 * DEG),
      Math.sin(20 * DEG),
      Math.cos(20 * DEG) * Math.cos(30 * DEG),
    ]);
    // Held after the last node.
    expectDirection(aim(law, 500), aim(law, 35));
  });

  it('passes through its nodes, a yaw not stated being none, and runs smoothly between them', () => {
    const law = new AttitudeLaw({ ...nodes, axes: 'launch', shape: 'polynomial' });
    law.read(Float64Array.of(80 * DEG, 8 * DEG, 40 * DEG, 30 * DEG, 2 * DEG));
    law.start(0, moving, launch);
    const angles = (t: number): [number, number] => {
      const [x, y, z] = aim(law, t) as [number, number, number];
      return [Math.atan2(x, z) / DEG, Math.asin(y) / DEG];
    };
    expect(angles(10)[0]).toBeCloseTo(40, 12);
    expect(angles(10)[1]).toBeCloseTo(0, 12);
    // Lagrange's parabolas through (0, 80), (10, 40), (30, 30) and (0, 8), (10, 0), (30, 2).
    const parabola = (t: number, a: number, b: number, c: number): number =>
      (a * (t - 10) * (t - 30)) / 300 - (b * t * (t - 30)) / 200 + (c * t * (t - 10)) / 600;
    for (const t of [3, 17, 25]) {
      expect(angles(t)[0]).toBeCloseTo(parabola(t, 80, 40, 30), 11);
      expect(angles(t)[1]).toBeCloseTo(parabola(t, 8, 0, 2), 11);
    }
  });

  it('counts from the radius and the velocity at its own start where it says so', () => {
    const law = new AttitudeLaw({ ...nodes, axes: 'start', shape: 'spline' });
    law.read(Float64Array.of(30 * DEG, 20 * DEG, 0, 0, 0));
    law.start(0, moving, launch);
    // Facing −z with x up, right is −y.
    expectDirection(aim(law, 0), [
      Math.cos(20 * DEG) * Math.sin(30 * DEG),
      -Math.sin(20 * DEG),
      -Math.cos(20 * DEG) * Math.cos(30 * DEG),
    ]);
  });

  it('falls back on the launch azimuth where the velocity at its start has no horizontal part', () => {
    const axes = new Axes('start');
    axes.start(Float64Array.of(0, 0, 6.4e6, 0, 0, 10), {
      up: Float64Array.of(0, 0, 1),
      ahead: Float64Array.of(0.6, 0.8, 0),
    });
    expectDirection([...axes.ahead], [0.6, 0.8, 0]);
    expectDirection([...axes.right], [0.8, -0.6, 0]);
  });
});

describe('along the motion', () => {
  it('prograde is the inertial velocity, retrograde its opposite against the turning ground', () => {
    const w = 7e-5;
    const y = Float64Array.of(6e6, 1e6, 2e6, -200, 3000, 500);
    const v = Math.hypot(200, 3000, 500);
    expectDirection(aim(new AlongMotionLaw(1, 0), 0, y), [-200 / v, 3000 / v, 500 / v]);
    const ground = [-200 + w * 1e6, 3000 - w * 6e6, 500];
    const g = Math.hypot(...ground);
    expectDirection(
      aim(new AlongMotionLaw(-1, w), 0, y),
      ground.map((each) => -each / g),
    );
  });

  it('goes over into the vertical below 20 m/s, without a kink, and is the vertical at rest', () => {
    const law = new AlongMotionLaw(-1, 0);
    const at = (v: number): number[] => aim(law, 0, Float64Array.of(6.4e6, 0, 0, 0, v, 0));
    expectDirection(at(0), [1, 0, 0]);
    expectDirection(at(20), [0, -1, 0]);
    expectDirection(at(300), [0, -1, 0]);
    // Half the speed is half the way.
    expectDirection(at(10), [Math.SQRT1_2, -Math.SQRT1_2, 0], 13);
    const slope = (v: number): number => (at(v + 1e-4)[0]! - at(v - 1e-4)[0]!) / 2e-4;
    // The blend starts with the third power of what is wanting to 20 m/s: 1e-4³ over 1e-4.
    expect(Math.abs(slope(20))).toBeLessThan(1e-7);
    let least = 1;
    for (let v = 0; v <= 25; v += 0.25) {
      const up = at(v)[0]!;
      expect(up).toBeLessThanOrEqual(least + 1e-15);
      least = up;
    }
  });

  it('falling straight down, retrograde is the vertical at every speed, and rising it never loses its length', () => {
    const law = new AlongMotionLaw(-1, 0);
    for (const v of [-300, -19, -10, -1, 0])
      expectDirection(aim(law, 0, Float64Array.of(6.4e6, 0, 0, v, 0, 0)), [1, 0, 0]);
    for (let v = 0; v < 25; v += 0.5) aim(law, 0, Float64Array.of(6.4e6, 0, 0, v, 0, 0));
  });
});
