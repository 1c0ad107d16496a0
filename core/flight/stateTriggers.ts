/** Triggers that depend on where the vehicle is, as values whose zero is the event. */
import type { StateTrigger, Trigger } from '../contract/sequence.ts';
import type { Monitor } from '../ode/driver.ts';
import type { Motion } from './motion.ts';

const BY_CLOCK: readonly Trigger['kind'][] = ['time', 'after', 'before', 'gap', 'propellant'];

/** Whether only the flight can find when a trigger comes about. Unitless. */
export function isStateTrigger(trigger: Trigger): trigger is StateTrigger {
  return !BY_CLOCK.includes(trigger.kind);
}

/**
 * A monitor of a state trigger on the flight whose equations of motion are `motion`: its value is the watched quantity
 * less the trigger's, in the quantity's SI unit, for inertial states (m, m/s) in the pieces frozen at the moment.
 * Dynamic pressure ½ρv² and free-molecular heat flux ½ρv³ are against the air, wind included; sensed acceleration is the
 * length of all but gravity; speed is against the turning ground or inertial, vertical speed against the ground. It fires in the trigger's sense.
 */
export function watch(trigger: StateTrigger, motion: Motion): Monitor {
  const slope = new Float64Array(motion.dimension);
  const direction = directionOf(trigger);
  const observed =
    (read: () => number): Monitor['value'] =>
    (t, y) => {
      motion.derivative(t, y, slope);
      return read();
    };
  switch (trigger.kind) {
    case 'altitude':
      return { direction, value: observed(() => motion.height_m - trigger.height_m) };
    case 'speed': {
      const turning_radps = (trigger.frame ?? 'ground') === 'ground' ? motion.rotation_radps : 0;
      return {
        direction,
        value: (_t, y) =>
          Math.hypot(y[3]! + turning_radps * y[1]!, y[4]! - turning_radps * y[0]!, y[5]!) - trigger.speed_mps,
      };
    }
    case 'dynamicPressure':
      return {
        direction,
        value: observed(
          () => 0.5 * motion.density_kgpm3 * motion.speedAir_mps * motion.speedAir_mps - trigger.pressure_Pa,
        ),
      };
    case 'heatFlux':
      return {
        direction,
        value: observed(() => 0.5 * motion.density_kgpm3 * motion.speedAir_mps ** 3 - trigger.heatFlux_Wpm2),
      };
    case 'sensedAcceleration':
      return {
        direction,
        value: observed(() => {
          const { gravity } = motion;
          return (
            Math.hypot(slope[3]! - gravity[0]!, slope[4]! - gravity[1]!, slope[5]! - gravity[2]!) -
            trigger.acceleration_mps2
          );
        }),
      };
    case 'verticalSpeed':
      return {
        direction,
        // The Earth's turning is horizontal, so the inertial velocity climbs alike.
        value: (_t, y) => (y[0]! * y[3]! + y[1]! * y[4]! + y[2]! * y[5]!) / Math.hypot(y[0]!, y[1]!, y[2]!),
      };
  }
}

function directionOf(trigger: StateTrigger): -1 | 1 {
  switch (trigger.kind) {
    case 'sensedAcceleration':
      return 1;
    case 'heatFlux':
      return -1;
    default:
      return trigger.passing === 'rising' ? 1 : -1;
  }
}
