/**
 * A tank in the picture of its body. The study gives a cylinder, and nothing says how it goes into a part of the body that is narrower
 * than itself: there the picture narrows it, as far from the wall as at its foot, and makes it longer, so that each stretch holds what the
 * cylinder holds. An assumption of the picture alone: balance and settling take the cylinder as it is given.
 */
import type { Tank } from '../contract/parting.ts';
import type { Body } from '../contract/vehicle.ts';
import { tankLength_m } from '../vehicle/tanks.ts';
import { placed, type Frame, type Place } from './bodyFrame.ts';

type Shape = NonNullable<Body['shape']>;

/** A stretch of one radius: from a station of the body, and from a height in the cylinder, upward. */
interface Stretch {
  readonly station_m: number;
  readonly height_m: number;
  readonly radius_m: number;
}

/** A tank as it stands in its body's outline. m */
export interface DrawnTank {
  readonly radius_m: number;
  readonly stretches: readonly Stretch[];
  /** No part of it is drawn beyond this station. */
  readonly top_m: number;
}

/** Radius of an outline at a station, m; at an edge that of the part above it. */
function outlineRadius_m(shape: Shape, station_m: number): number {
  let diameter_m = shape.diameter_m;
  for (const step of shape.steps) if (step.station_m <= station_m) diameter_m = step.diameter_m;
  return 0.5 * diameter_m;
}

/**
 * How a tank that stands at a station (m) is drawn. Where it would not fit so below the body's end it stands at the wall, and
 * what still does not is cut off there: the study then gives more tank than body.
 */
export function drawTank(shape: Shape, tank: Tank, station_m: number): DrawnTank {
  const margin_m = Math.max(0, outlineRadius_m(shape, station_m) - tank.radius_m);
  const spaced = narrowed(shape, tank, station_m, margin_m);
  return reach_m(spaced, tank) <= shape.length_m ? spaced : narrowed(shape, tank, station_m, 0);
}

function narrowed(shape: Shape, tank: Tank, station_m: number, margin_m: number): DrawnTank {
  const radiusAt = (at_m: number): number => {
    const room_m = outlineRadius_m(shape, at_m);
    if (tank.radius_m <= room_m) return tank.radius_m;
    return Math.max(0.05 * tank.radius_m, room_m - margin_m);
  };
  const stretches: Stretch[] = [{ station_m, height_m: 0, radius_m: radiusAt(station_m) }];
  for (const step of shape.steps) {
    const last = stretches[stretches.length - 1]!;
    if (step.station_m <= last.station_m) continue;
    const radius_m = radiusAt(step.station_m);
    if (radius_m === last.radius_m) continue;
    const height_m = last.height_m + (step.station_m - last.station_m) * (last.radius_m / tank.radius_m) ** 2;
    stretches.push({ station_m: step.station_m, height_m, radius_m });
  }
  return { radius_m: tank.radius_m, stretches, top_m: Math.max(station_m, shape.length_m) };
}

function reach_m(drawn: DrawnTank, tank: Tank): number {
  return stationOf({ ...drawn, top_m: Infinity }, tankLength_m(tank));
}

/** Station of the body up to which the drawn tank holds what the cylinder holds up to a height; m. */
function stationOf({ radius_m, stretches, top_m }: DrawnTank, height_m: number): number {
  const own = stretches.findLast((stretch) => stretch.height_m <= height_m) ?? stretches[0]!;
  return Math.min(top_m, own.station_m + (height_m - own.height_m) * (radius_m / own.radius_m) ** 2);
}

/**
 * Outline of what fills a drawn tank between two heights of the cylinder and two distances across it, m; `foot_m` is where the
 * body's stations count from in its frame.
 */
export function tankPart(
  frame: Frame,
  foot_m: number,
  drawn: DrawnTank,
  heights_m: readonly [number, number],
  across_m: readonly [number, number],
): Place[] {
  const { radius_m, stretches } = drawn;
  const [low_m, high_m] = heights_m;
  const start = stretches.findLast((stretch) => stretch.height_m <= low_m) ?? stretches[0]!;
  const within = stretches.filter(({ height_m }) => height_m > low_m && height_m < high_m);
  // Station and width over the cylinder's, from below: both radii at each edge between.
  const rings: [number, number][] = [[stationOf(drawn, low_m), start.radius_m / radius_m]];
  for (const { station_m, radius_m: next_m } of within) {
    const at_m = Math.min(station_m, drawn.top_m);
    rings.push([at_m, rings[rings.length - 1]![1]], [at_m, next_m / radius_m]);
  }
  rings.push([stationOf(drawn, high_m), rings[rings.length - 1]![1]]);
  const side = (of_m: number): Place[] =>
    rings.map(([station_m, share]) => placed(frame, foot_m + station_m, share * of_m));
  return [...side(across_m[0]), ...side(across_m[1]).reverse()];
}
