import { describe, expect, it } from 'vitest';
import { EARTH_ROTATION_radps } from '../../../../core/constants/physical.ts';
import { FixedLaw } from '../../../../core/flight/steering/fixed.ts';
import { HoldInPlaneLaw } from '../../../../core/flight/steering/holdInPlane.ts';
import { KickLaw } from '../../../../core/flight/steering/kick.ts';
import type { LaunchFrame, SteeringLaw } from '../../../../core/flight/steering/law.ts';
import { LinearTangentLaw } from '../../../../core/flight/steering/linearTangent.ts';
import { VerticalLaw } from '../../../../core/flight/steering/vertical.ts';
import { YawedTangentLaw } from '../../../../core/flight/steering/yawedTangent.ts';
import { ZeroAlphaLaw } from '../../../../core/flight/steering/zeroAlpha.ts';
import { ZeroAlphaInPlaneLaw } from '../../../../core/flight/steering/zeroAlphaInPlane.ts';

const DEG = Math.PI / 180;
const up = Float64Array.of(0.6, 0, 0.8);
const ahead = Float64Array.of(0, 1, 0);
const launch: LaunchFrame = { up, ahead };
const still = new Float64Array(6);

function aim(law: SteeringLaw, t_s: number, along: readonly [number, number, number] = [1, 0, 0]): number[] {
  const out = Float64Array.from(along);
  law.point(t_s, out, still);
  return [...out];
}

function expectDirection(actual: number[], wanted: readonly number[]): void {
  wanted.forEach((each, i) => expect(actual[i]).toBeCloseTo(each, 14));
  expect(Math.hypot(...actual)).toBeCloseTo(1, 14);
}

describe('steering laws', () => {
  it('vertical points along the launch vertical, whenever and wherever', () => {
    const law = new VerticalLaw();
    law.read();
    law.start(0, still, launch);
    expectDirection(aim(law, 0), [0.6, 0, 0.8]);
    expectDirection(aim(law, 500, [0, 1, 0]), [0.6, 0, 0.8]);
  });

  it('kick tilts linearly from the vertical toward the azimuth, then holds', () => {
    const law = new KickLaw(1, 8);
    law.read(Float64Array.of(99, 4 * DEG));
    law.start(9, still, launch);
    const tilted = (deg: number): number[] => [
      0.6 * Math.cos(deg * DEG),
      Math.sin(deg * DEG),
      0.8 * Math.cos(deg * DEG),
    ];
    expectDirection(aim(law, 9), tilted(0));
    expectDirection(aim(law, 11), tilted(1));
    expectDirection(aim(law, 17), tilted(4));
    expectDirection(aim(law, 60), tilted(4));
    expectDirection(aim(law, 8.9), tilted(0));
  });

  it('zero angle of attack points where the air comes from', () => {
    const law = new ZeroAlphaLaw();
    law.read();
    law.start();
    expectDirection(aim(law, 3, [0.36, 0.48, 0.8]), [0.36, 0.48, 0.8]);
  });

  it('fixed keeps its direction', () => {
    const law = new FixedLaw(Float64Array.of(0, 0.6, -0.8));
    law.read();
    law.start();
    expectDirection(aim(law, 77), [0, 0.6, -0.8]);
  });

  it('linear tangent has tan θ = a + b (t − t₀) above the horizontal of its start, in the plane of motion then', () => {
    const law = new LinearTangentLaw(2, 3);
    law.read(Float64Array.of(0, 0, 0.75, -0.01));
    // Above the x axis, moving up and along −z: up is x, ahead −z.
    law.start(100, Float64Array.of(7e6, 0, 0, 300, 0, -5000));
    expectDirection(aim(law, 100), [0.6, 0, -0.8]);
    // Level after 75 s, and as far down after 150.
    expectDirection(aim(law, 175), [0, 0, -1]);
    expectDirection(aim(law, 250), [-0.6, 0, -0.8]);
    for (const t of [110, 300, 1000]) {
      const [x, , z] = aim(law, t);
      expect(x! / -z!).toBeCloseTo(0.75 - 0.01 * (t - 100), 12);
    }
  });

  it('linear tangent takes the horizontal at right angles to the radius, not to the velocity', () => {
    const law = new LinearTangentLaw(0, 1);
    law.read(Float64Array.of(0, 0));
    const y = Float64Array.of(3e6, 4e6, 0, 2000, -3000, 1000);
    law.start(0, y);
    const [dx, dy, dz] = aim(law, 0);
    expect(3 * dx! + 4 * dy!).toBeCloseTo(0, 12);
    // Forward, and in the plane of radius and velocity.
    expect(2 * dx! - 3 * dy! + dz!).toBeGreaterThan(0);
    const normal = [4e6 * 1000, -3e6 * 1000, 3e6 * -3000 - 4e6 * 2000];
    expect((normal[0]! * dx! + normal[1]! * dy! + normal[2]! * dz!) / Math.hypot(...normal)).toBeCloseTo(
      0,
      12,
    );
  });

  it('zero angle of attack in the plane leaves out what leads out of it', () => {
    const law = new ZeroAlphaInPlaneLaw();
    law.read();
    law.start(0, still, launch);
    // 0.3 up, 0.4 ahead and 0.5 along the normal (0.8, 0, -0.6).
    expectDirection(aim(law, 3, [0.18 + 0.4, 0.4, 0.24 - 0.3]), [0.36, 0.8, 0.48]);
    expectDirection(aim(law, 3, [0.8, 0, -0.6]), [0.6, 0, 0.8]);
  });

  it('hold in the plane keeps what zero angle of attack in the plane has at its start', () => {
    const turning = new ZeroAlphaInPlaneLaw();
    const hold = new HoldInPlaneLaw();
    turning.start(0, still, launch);
    hold.read();
    const y = Float64Array.of(4e6, 3e6, 4e6, 900, 1700, 600);
    const air = [y[3]! + EARTH_ROTATION_radps * y[1]!, y[4]! - EARTH_ROTATION_radps * y[0]!, y[5]!];
    hold.start(50, y, launch);
    const size = Math.hypot(...air);
    const wanted = aim(turning, 50, [air[0]! / size, air[1]! / size, air[2]! / size]);
    expectDirection(aim(hold, 50), wanted);
    expectDirection(aim(hold, 90, [0, 1, 0]), wanted);
  });

  it('yawed tangent is the linear tangent turned to the right about the vertical of its start', () => {
    const y = Float64Array.of(7e6, 0, 0, 300, 0, -5000);
    const plain = new LinearTangentLaw(0, 1);
    const yawed = new YawedTangentLaw(0, 1, 2);
    const values = Float64Array.of(0.75, -0.01, 30 * DEG);
    plain.read(values);
    yawed.read(values);
    plain.start(100, y);
    yawed.start(100, y);
    // Up is x, ahead -z, so right is ahead × up = -y.
    expectDirection(aim(yawed, 100), [0.6, -0.8 * Math.sin(30 * DEG), -0.8 * Math.cos(30 * DEG)]);
    expectDirection(aim(yawed, 175), [0, -Math.sin(30 * DEG), -Math.cos(30 * DEG)]);
    yawed.read(Float64Array.of(0.75, -0.01, 0));
    expectDirection(aim(yawed, 140), aim(plain, 140));
  });
});
