import type { SteeringLaw } from '../../contract/sequence.ts';

const NEVER: readonly number[] = [];

/**
 * How long after its start (s, rising) a law's direction has kinks in itself or a derivative, where the flight's plan must
 * begin a new segment: so no step crosses one, and the method keeps its order.
 */
export function lawBreaksAfter_s(law: SteeringLaw): readonly number[] {
  switch (law.kind) {
    case 'kick':
      return [law.duration_s];
    case 'attitude': {
      const after_s = law.nodes.map((node) => node.after_s);
      // The third derivative of a spline jumps at its nodes.
      return law.shape === 'spline' ? after_s : after_s.slice(-1);
    }
    case 'vertical':
    case 'zeroAlpha':
    case 'zeroAlphaInPlane':
    case 'holdInPlane':
    case 'linearTangent':
    case 'yawedTangent':
    case 'bilinearTangent':
    case 'fixed':
    case 'prograde':
    case 'retrograde':
      return NEVER;
  }
}
