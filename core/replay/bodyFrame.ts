/** A body in the picture of a parting: its own stations and distances across, turned to where and how it stands. */

/** A place in the picture, m: first along the stack at release, then across it, toward the sky. */
export type Place = readonly [number, number];

export interface Frame {
  /** Middle of the body's plane of separation. */
  readonly plane: Place;
  /** Against the stack at release, toward the sky positive. */
  readonly angle_rad: number;
}

/** The frame of a body whose centre is at (s, across), its plane of separation `offset_m` along its axis from there; m, rad. */
export function frameOf(s: number, across: number, angle_rad: number, offset_m: number): Frame {
  return { plane: [s + offset_m * Math.cos(angle_rad), across + offset_m * Math.sin(angle_rad)], angle_rad };
}

/** A place of the body, station above the plane of separation and distance across, in the picture; m. */
export function placed({ plane, angle_rad }: Frame, station_m: number, across_m: number): Place {
  const c = Math.cos(angle_rad);
  const s = Math.sin(angle_rad);
  return [plane[0] + station_m * c - across_m * s, plane[1] + station_m * s + across_m * c];
}

/** A rectangle of the body from a foot (station) upward, between two distances across; m. */
export function box(frame: Frame, foot_m: number, length_m: number, from_m: number, to_m: number): Place[] {
  return [
    placed(frame, foot_m, from_m),
    placed(frame, foot_m + length_m, from_m),
    placed(frame, foot_m + length_m, to_m),
    placed(frame, foot_m, to_m),
  ];
}
