/** The vehicle on its pad: what the log says of commands given before release. */
import { PAYLOAD, type CompiledStudy } from './compile.ts';
import { siteAtRelease } from './launch.ts';
import { Motion, STATE_SIZE } from './motion.ts';
import type { LaunchFrame } from './steering/law.ts';
import { VerticalLaw } from './steering/vertical.ts';
import type { Observation } from './track.ts';

/**
 * Observes the vehicle held on its pad in one of the plan's segments before release, at mission time t_s (s) within it.
 * SI; position, velocity and aim inertial, at rest on the turning Earth; what an accelerometer feels is the pad's push
 * and the engines' together. Throws RangeError when the segment is none in which the vehicle is held.
 */
export function observePad(
  compiled: CompiledStudy,
  values: Float64Array,
  launch: LaunchFrame,
  index: number,
  t_s: number,
): Observation {
  const segment = compiled.plan.segments[index];
  if (segment?.held !== true) {
    throw new RangeError(`observePad: received segment ${index}, allowed is one before release`);
  }
  const { site, earth } = compiled.study;
  const { state } = siteAtRelease(site, earth.figure, t_s, compiled.earth);
  const slope = new Float64Array(STATE_SIZE);
  const law = new VerticalLaw();
  law.start(t_s, state, launch);
  const motion = new Motion(compiled.setting, false);
  motion.enter(segment, values[PAYLOAD]!, compiled.drags[segment.arrangement]!, law);
  motion.choosePiece(t_s, state);
  motion.derivative(t_s, state, slope);
  const spin2 = motion.rotation_radps * motion.rotation_radps;
  const [gx, gy, gz] = motion.gravity as unknown as [number, number, number];
  return {
    time_s: t_s,
    state,
    height_m: motion.height_m,
    speedRelative_mps: 0,
    speedInertial_mps: Math.hypot(state[3]!, state[4]!),
    flightPathAngle_rad: Math.PI / 2,
    flightPathAngleInertial_rad: 0,
    mach: motion.mach,
    dynamicPressure_Pa: 0.5 * motion.density_kgpm3 * motion.speedAir_mps * motion.speedAir_mps,
    density_kgpm3: motion.density_kgpm3,
    speedAir_mps: motion.speedAir_mps,
    mass_kg: motion.mass_kg,
    thrustNet_N: motion.thrustNet_N,
    drag_N: motion.drag_N,
    sensed_mps2: Math.hypot(-spin2 * state[0]! - gx, -spin2 * state[1]! - gy, -gz),
    aim: motion.aim,
    gust: motion.gust,
    segment: index,
  };
}
