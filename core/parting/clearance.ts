/** How far the upper body is from touching the lower one: at the rim of the interstage, and at the plane of separation. */
import { standing, type Standing, type TwoBodies } from './twoBody.ts';

/** What stands in the interstage, in the plane of parting. */
export interface Rim {
  /** How far the upper body's engine section reaches below the plane of separation. */
  readonly overlap_m: number;
  readonly sectionRadius_m: number;
  /** Inner radius of the interstage. */
  readonly wallRadius_m: number;
}

/** The radius at which the two planes of separation meet, m; and the rim, where one is given. */
export interface Contact {
  readonly planeRadius_m: number;
  readonly rim: Rim | null;
}

const now: Standing = { gap_m: 0, drift_m: 0, tilt_rad: 0 };

/** Whether the engine section has left the interstage. Gap along the axis in m, tilt in rad. */
export function isOut({ rim }: Contact, { gap_m, tilt_rad }: Standing): boolean {
  if (rim === null) return true;
  const reach_m = rim.overlap_m * Math.cos(tilt_rad) + rim.sectionRadius_m * Math.abs(Math.sin(tilt_rad));
  return gap_m >= reach_m;
}

/**
 * Least distance across between the engine section and the interstage, m; negative when one stands in the other, the
 * clearance at rest once it has left. In the plane: the section's lower corners against the walls, and the walls' upper
 * edges against the section's sides.
 */
export function rimClearance_m(bodies: TwoBodies, contact: Contact, y: Float64Array): number {
  const { rim } = contact;
  if (rim === null) return Number.POSITIVE_INFINITY;
  const { gap_m, drift_m, tilt_rad } = standing(bodies, y, now);
  const c = Math.cos(tilt_rad);
  const s = Math.sin(tilt_rad);
  let least = rim.wallRadius_m - rim.sectionRadius_m;
  if (isOut(contact, now)) return least;
  for (const side of [1, -1]) {
    // A lower corner, in the lower body's frame: along the axis above the rim, and across.
    const along = gap_m - rim.overlap_m * c - side * rim.sectionRadius_m * s;
    const across = drift_m - rim.overlap_m * s + side * rim.sectionRadius_m * c;
    if (along < 0) least = Math.min(least, rim.wallRadius_m - side * across);
    // The rim's edge, in the upper body's frame.
    const ds = -gap_m;
    const dy = side * rim.wallRadius_m - drift_m;
    const up = ds * c + dy * s;
    const out = dy * c - ds * s;
    if (up < 0 && up > -rim.overlap_m) least = Math.min(least, side * out - rim.sectionRadius_m);
  }
  return least;
}

/** Least gap along the lower body's axis between the two planes of separation, at their edges, m; negative when they cut. */
export function planeClearance_m(bodies: TwoBodies, contact: Contact, y: Float64Array): number {
  const { gap_m, tilt_rad } = standing(bodies, y, now);
  return gap_m - contact.planeRadius_m * Math.abs(Math.sin(tilt_rad));
}

/**
 * Where the bodies are closest to touching: along the lower body's axis above its plane of separation, and across it, m. In
 * the interstage the corner that is nearest to its wall, or the edge of the wall nearest to the section's side; else the edge
 * at which the planes of separation meet.
 */
export function touchPlace(
  bodies: TwoBodies,
  contact: Contact,
  y: Float64Array,
): readonly [along_m: number, across_m: number] {
  const { gap_m, drift_m, tilt_rad } = standing(bodies, y, now);
  const c = Math.cos(tilt_rad);
  const s = Math.sin(tilt_rad);
  const { rim } = contact;
  // The edge of the upper body that hangs lowest.
  const low = Math.sign(tilt_rad) || 1;
  let place: readonly [number, number] = [
    gap_m - low * contact.planeRadius_m * s,
    drift_m + low * contact.planeRadius_m * c,
  ];
  if (rim === null || isOut(contact, now)) return place;
  let least = planeClearance_m(bodies, contact, y);
  for (const side of [1, -1]) {
    const along = gap_m - rim.overlap_m * c - side * rim.sectionRadius_m * s;
    const across = drift_m - rim.overlap_m * s + side * rim.sectionRadius_m * c;
    const corner = rim.wallRadius_m - side * across;
    if (along < 0 && corner < least) {
      least = corner;
      place = [along, across];
    }
    const ds = -gap_m;
    const dy = side * rim.wallRadius_m - drift_m;
    const up = ds * c + dy * s;
    const edge = side * (dy * c - ds * s) - rim.sectionRadius_m;
    if (up < 0 && up > -rim.overlap_m && edge < least) {
      least = edge;
      place = [0, side * rim.wallRadius_m];
    }
  }
  return place;
}
