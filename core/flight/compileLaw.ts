/** From a steering law's data to its free numbers and its class. */
import type { SteeringLaw as LawData } from '../contract/sequence.ts';
import type { Parameter } from './parameter.ts';
import { AlongMotionLaw } from './steering/alongMotion.ts';
import { AttitudeLaw } from './steering/attitude.ts';
import { BilinearTangentLaw } from './steering/bilinearTangent.ts';
import { HoldInPlaneLaw } from './steering/holdInPlane.ts';
import { KickLaw } from './steering/kick.ts';
import type { SteeringLaw } from './steering/law.ts';
import { LinearTangentLaw } from './steering/linearTangent.ts';
import { VerticalLaw } from './steering/vertical.ts';
import { YawedTangentLaw } from './steering/yawedTangent.ts';
import { ZeroAlphaLaw } from './steering/zeroAlpha.ts';
import { ZeroAlphaInPlaneLaw } from './steering/zeroAlphaInPlane.ts';

const RAD_PER_DEG = Math.PI / 180;

/** A law's free number: a parameter but for its place in the study and the plan. `key` is its path within the law. */
export type LawNumber = Omit<Parameter, 'path' | 'kind' | 'event' | 'firstSegment'> & {
  readonly key: string;
};

/** The free numbers of a law, in the order in which its class takes their indices; SI and radians, limits as in the study. */
export function lawNumbers(law: LawData): LawNumber[] {
  switch (law.kind) {
    case 'vertical':
    case 'zeroAlpha':
    case 'zeroAlphaInPlane':
    case 'holdInPlane':
    case 'prograde':
    case 'retrograde':
      return [];
    case 'kick':
      return [angle('angle_deg', 'kick angle', law.angle_deg, !law.held.includes('angle_deg'), 0, 45)];
    case 'linearTangent':
      return [
        {
          key: 'a',
          name: 'tangent at start',
          unit: '',
          perUnit: 1,
          free: !law.held.includes('a'),
          value: law.a,
          scale: 1,
          lower: -100,
          upper: 100,
        },
        {
          key: 'b_per_s',
          name: 'tangent rate',
          unit: '1/s',
          perUnit: 1,
          free: !law.held.includes('b_per_s'),
          value: law.b_per_s,
          scale: 1e-3,
          lower: -1,
          upper: 1,
        },
      ];
    case 'yawedTangent':
      return [
        ...lawNumbers({ ...law, kind: 'linearTangent', held: law.held.filter((key) => key !== 'yaw_deg') }),
        angle('yaw_deg', 'yaw to the right', law.yaw_deg, !law.held.includes('yaw_deg'), -90, 90),
      ];
    case 'bilinearTangent':
      return [
        angle(
          'startAngle_deg',
          'angle at start',
          law.startAngle_deg,
          !law.held.includes('startAngle_deg'),
          -89,
          89,
        ),
        angle('endAngle_deg', 'angle at end', law.endAngle_deg, !law.held.includes('endAngle_deg'), -89, 89),
        {
          key: 'weight',
          name: 'weight of the end',
          unit: '',
          perUnit: 1,
          free: !law.held.includes('weight'),
          value: law.weight,
          scale: 0.1,
          lower: 0.01,
          upper: 100,
        },
      ];
    case 'attitude':
      return law.nodes.flatMap((node, i) =>
        attitudeNumbers(node, `nodes.${i}.`, i === 0 ? ' at start' : ` after ${node.after_s} s`),
      );
    case 'fixed':
      return attitudeNumbers(law, '', '');
  }
}

/** A law's class; its numbers stand from index `first` on among the parameter values. `rotation_radps` is the ground's. */
export function makeLaw(law: LawData, first: number, rotation_radps: number): SteeringLaw {
  switch (law.kind) {
    case 'vertical':
      return new VerticalLaw();
    case 'zeroAlpha':
      return new ZeroAlphaLaw();
    case 'kick':
      return new KickLaw(first, law.duration_s);
    case 'linearTangent':
      return new LinearTangentLaw(first, first + 1);
    case 'zeroAlphaInPlane':
      return new ZeroAlphaInPlaneLaw();
    case 'holdInPlane':
      return new HoldInPlaneLaw(rotation_radps);
    case 'yawedTangent':
      return new YawedTangentLaw(first, first + 1, first + 2);
    case 'bilinearTangent':
      return new BilinearTangentLaw(first, law.span_s);
    case 'attitude':
      return makeAttitude(law, first);
    case 'fixed':
      return makeAttitude(
        { axes: law.axes, shape: 'polynomial', nodes: [{ after_s: 0, yaw_deg: law.yaw_deg }] },
        first,
      );
    case 'prograde':
      return new AlongMotionLaw(1, law.velocity === 'ground' ? rotation_radps : 0);
    case 'retrograde':
      return new AlongMotionLaw(-1, law.velocity === 'ground' ? rotation_radps : 0);
  }
}

interface AttitudeData {
  readonly axes: 'launch' | 'start';
  readonly shape: 'polynomial' | 'spline';
  readonly nodes: readonly { readonly after_s: number; readonly yaw_deg?: number | undefined }[];
}

function makeAttitude(data: AttitudeData, first: number): AttitudeLaw {
  let next = first;
  const pitchIndex: number[] = [];
  const yawIndex: number[] = [];
  for (const { yaw_deg } of data.nodes) {
    pitchIndex.push(next++);
    yawIndex.push(yaw_deg === undefined ? -1 : next++);
  }
  const after_s = data.nodes.map((node) => node.after_s);
  return new AttitudeLaw({ axes: data.axes, shape: data.shape, after_s, pitchIndex, yawIndex });
}

/** Pitch and, where it is stated, yaw. */
function attitudeNumbers(
  node: {
    readonly pitch_deg: number;
    readonly yaw_deg?: number | undefined;
    readonly held: readonly string[];
  },
  place: string,
  when: string,
): LawNumber[] {
  const free = (key: string): boolean => !node.held.includes(key);
  const pitch = angle(`${place}pitch_deg`, `pitch${when}`, node.pitch_deg, free('pitch_deg'), -180, 180);
  if (node.yaw_deg === undefined) return [pitch];
  return [pitch, angle(`${place}yaw_deg`, `yaw${when}`, node.yaw_deg, free('yaw_deg'), -85, 85)];
}

function angle(
  key: string,
  name: string,
  value_deg: number,
  free: boolean,
  lower_deg: number,
  upper_deg: number,
): LawNumber {
  return {
    key,
    name,
    unit: 'deg',
    perUnit: RAD_PER_DEG,
    free,
    value: value_deg * RAD_PER_DEG,
    scale: RAD_PER_DEG,
    lower: lower_deg * RAD_PER_DEG,
    upper: upper_deg * RAD_PER_DEG,
  };
}
