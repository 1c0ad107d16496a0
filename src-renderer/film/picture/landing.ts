/**
 * A landing from close by, for film and window: on one plate the body over the place it comes down at, at one true scale that
 * grows as it falls; on the other the body itself, as it stands against the air. Plain data and a time; sizes in sheet units.
 */
import { placed, type Place } from '../../../core/replay/bodyFrame.ts';
import type { Box } from '../../../core/replay/labels.ts';
import { landingAt, type LandingView } from '../../../core/replay/landing.ts';
import type { LandingScene } from '../../../core/replay/landingScene.ts';
import type { BodyColour } from '../../../core/replay/strands.ts';
import { fixed } from '../../../core/units/figures.ts';
import { drawBody, drawScaleBar, type At } from './closeUp.ts';
import { line } from './column.ts';
import { bodyInk, type SheetInks } from './inks.ts';
import { drawPlume } from './plume.ts';
import { widthOf, write, type Surface } from './type.ts';

export interface LandingLook {
  readonly inks: SheetInks;
  readonly colourOf: (body: number) => BodyColour;
  /** Of the small type. */
  readonly size: number;
}

/** The body's own plate has so much of the longer side of the box. */
const OWN = 0.34;
/** The way to the touchdown stays within so much of the plate's width; the touchdown has so much of its height below it, or so many
 * lines of type. */
const WITHIN = 0.72;
const BELOW = 0.12;
const BELOW_LINES = 4.4;
/** Of its own plate a body fills so much. */
const FILLS = 0.6;
/** A few engines of many give a narrow plume, which is to be seen. */
const DENSITY = 3;
/** The air's lines pass the body so far from its axis, in its lengths. */
const BESIDE = 0.17;
/** Less dynamic pressure than this, Pa, and no air is drawn. */
const AIR_Pa = 20;

interface Plate {
  readonly context: Surface;
  readonly box: Box;
  readonly scale: number;
  /** From the touchdown on the plate of the place, from the feet on the body's own. */
  readonly at: At;
  readonly look: LandingLook;
}

/** Draws into a box; mission time in s. */
export function drawLanding(
  context: Surface,
  box: Box,
  scene: LandingScene,
  mission_s: number,
  look: LandingLook,
): void {
  const view = landingAt(scene, mission_s);
  const wide = box.right - box.left > box.bottom - box.top;
  const cut = wide
    ? box.right - OWN * (box.right - box.left)
    : box.bottom - OWN * 1.2 * (box.bottom - box.top);
  const place: Box = wide ? { ...box, right: cut } : { ...box, bottom: cut };
  const own: Box = wide ? { ...box, left: cut } : { ...box, top: cut };
  clipped(context, place, () => drawPlace(context, place, scene, view, look));
  clipped(context, own, () => drawOwn(context, own, scene, view, look));
  context.strokeStyle = look.inks.rule;
  context.lineWidth = 1;
  if (wide) line(context, cut, box.top, cut, box.bottom);
  else line(context, box.left, cut, box.right, cut);
}

function clipped(context: Surface, box: Box, draw: () => void): void {
  context.save();
  context.beginPath();
  context.rect(box.left, box.top, box.right - box.left, box.bottom - box.top);
  context.clip();
  draw();
  context.restore();
}

function drawPlace(
  context: Surface,
  box: Box,
  scene: LandingScene,
  view: LandingView,
  look: LandingLook,
): void {
  const width = box.right - box.left;
  const height = box.bottom - box.top;
  const [along] = view.foot;
  const below = Math.max(BELOW * height, BELOW_LINES * look.size);
  const scale = 1 / Math.hypot(view.shown_m / (height - below), along / (WITHIN * width));
  const x0 = box.left + 0.5 * width - 0.5 * scale * along;
  const y0 = box.bottom - below;
  const plate: Plate = { context, box, scale, look, at: ([p, q]) => [x0 + scale * p, y0 - scale * q] };
  drawHeights(plate);
  drawGround(plate, scene);
  drawWay(plate, scene, view);
  drawTouchdown(plate);
  const at: At = ([p, q]) => plate.at([p + view.foot[0], q + view.foot[1]]);
  drawThere({ ...plate, at }, scene, view);
  drawVelocity(plate, scene, view);
  drawScaleBar(context, box, scale, look.inks, look.size, true);
}

/** Heights above the touchdown at the left edge: round ones, some five of them. */
function drawHeights({ context, box, at, scale, look: { inks, size } }: Plate): void {
  const [, ground] = at([0, 0]);
  const most_m = (ground - box.top - 1.5 * size) / scale;
  const raw = most_m / 5;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step_m = power * ([1, 2, 5, 10].find((each) => each * power >= raw) ?? 10);
  const far = step_m >= 1000;
  context.lineWidth = 0.7;
  for (let k = 1; k * step_m <= most_m; k++) {
    const [, y] = at([0, k * step_m]);
    context.strokeStyle = inks.hair;
    line(context, box.left, y, box.right, y);
    const words = `${fixed(far ? (k * step_m) / 1000 : k * step_m, step_m < 1 ? 1 : 0)}\u202F${far ? 'km' : 'm'}`;
    write(context, words, box.left + 8, y - 4, { size, weight: 400, colour: inks.ink2 });
  }
}

function drawGround({ context, box, at, look: { inks } }: Plate, scene: LandingScene): void {
  const { ground } = scene;
  const last = ground.length / 2 - 1;
  const places = Array.from({ length: last + 1 }, (_, i): Place => [ground[2 * i]!, ground[2 * i + 1]!]);
  const radius_m = Math.hypot(...scene.touchdown);
  // Beyond the way it goes on as a circle, on the side where nothing was flown.
  const [least, most] = [Math.min(...places.map(([p]) => p)), Math.max(...places.map(([p]) => p))];
  const reach_m = (box.right - box.left) / (at([1, 0])[0] - at([0, 0])[0]);
  const arc = (from: number, to: number): Place[] =>
    Array.from({ length: 13 }, (_, i): Place => {
      const p = from + ((to - from) * i) / 12;
      return [p, -(p * p) / (2 * radius_m)];
    });
  const inOrder = [...places].sort(([p], [q]) => p - q);
  context.strokeStyle = inks.ink;
  context.lineWidth = 1.6;
  trace(context, [...arc(least - reach_m, least), ...inOrder, ...arc(most, most + reach_m)], at);
}

function trace(context: Surface, places: readonly Place[], at: At): void {
  context.beginPath();
  places.forEach((place, i) => {
    const [x, y] = at(place);
    if (i === 0) context.moveTo(x, y);
    else context.lineTo(x, y);
  });
  context.stroke();
}

/** What was flown at full strength, what is to come pale; thick where engines burn. */
function drawWay({ context, at, look }: Plate, scene: LandingScene, view: LandingView): void {
  const { times_s, way, powered, home, compiled } = scene;
  const body = compiled.bodies.findIndex(({ id }) => id === compiled.study.returns?.plans[home.plan]?.body);
  const { inks } = look;
  const strength = context.globalAlpha;
  context.strokeStyle = bodyInk(inks, look.colourOf(body)).full;
  const placeOf = (i: number): Place => [way[2 * i]!, way[2 * i + 1]!];
  for (let i = 0; i + 1 < times_s.length; i++) {
    const [from_s, to_s] = [times_s[i]!, times_s[i + 1]!];
    const pieces: [Place, Place, boolean][] =
      from_s < view.time_s && view.time_s < to_s
        ? [
            [placeOf(i), view.foot, true],
            [view.foot, placeOf(i + 1), false],
          ]
        : [[placeOf(i), placeOf(i + 1), to_s <= view.time_s]];
    for (const [from, to, past] of pieces) {
      context.globalAlpha = strength * (past ? 1 : inks.future);
      context.lineWidth = powered[i] === 1 ? 2.4 : 1;
      line(context, ...at(from), ...at(to));
    }
  }
  context.globalAlpha = strength;
}

function drawTouchdown({ context, at, box, look: { inks, size } }: Plate): void {
  const [x, y] = at([0, 0]);
  context.strokeStyle = inks.ink;
  context.lineWidth = 1.4;
  line(context, x - 5, y - 5, x + 5, y + 5);
  line(context, x - 5, y + 5, x + 5, y - 5);
  const style = { size, weight: 600, colour: inks.ink, rim: inks.pane } as const;
  const wide = widthOf(context, 'touchdown', size, 600);
  const left = Math.min(Math.max(x - wide / 2, box.left + 8), box.right - wide - 8);
  write(context, 'touchdown', left, y + 1.7 * size, style);
}

/** The body with the gas of its engines, cut off at the ground; a dot where it would not be seen. */
function drawThere(plate: Plate, scene: LandingScene, view: LandingView): void {
  const { context, at, scale, look } = plate;
  drawGas(plate, view);
  const long = scale * scene.length_m;
  if (long >= 10) {
    for (const body of view.bodies) drawBody(plate, body);
    return;
  }
  const [x, y] = at([0, 0]);
  context.beginPath();
  context.arc(x, y, 3.2, 0, 2 * Math.PI);
  context.fillStyle = bodyInk(look.inks, look.colourOf(view.bodies[0]!.body)).full;
  context.fill();
  context.strokeStyle = look.inks.pane;
  context.lineWidth = 1;
  context.stroke();
}

function drawGas({ context, box, at, scale, look }: Plate, view: LandingView): void {
  if (view.plumes.length === 0) return;
  const [, ground] = at([0, -view.height_m]);
  context.save();
  context.beginPath();
  context.rect(box.left, box.top, box.right - box.left, Math.max(0, Math.min(ground, box.bottom) - box.top));
  context.clip();
  for (const plume of view.plumes) {
    const ink = bodyInk(look.inks, look.colourOf(plume.body));
    drawPlume(context, plume, (p, q) => at([p, q]), scale, ink.full, DENSITY);
  }
  context.restore();
}

/** Where the body would be after a round time if nothing acted on it. */
function drawVelocity(
  { context, box, at, scale, look }: Plate,
  scene: LandingScene,
  view: LandingView,
): void {
  const { inks, size } = look;
  const speed_mps = Math.hypot(...view.velocity);
  if (view.landed || speed_mps < 0.05) return;
  const from = at(view.foot);
  const ahead_s = [60, 30, 20, 10, 5, 2, 1, 0.5, 0.2].find((t) => t * speed_mps * scale <= 96) ?? 0.1;
  const to = at([view.foot[0] + ahead_s * view.velocity[0], view.foot[1] + ahead_s * view.velocity[1]]);
  arrow(context, from, to, inks.ink, 1.4);
  const words = `${fixed(speed_mps, speed_mps < 20 ? 1 : 0)}\u202Fm/s, ${fixed(ahead_s, ahead_s < 1 ? 1 : 0)}\u202Fs ahead`;
  const wide = widthOf(context, words, size, 400);
  const right = to[0] + 12 + wide < box.right - 8;
  const x = right ? to[0] + 12 : Math.max(box.left + 60, to[0] - 12 - wide);
  const y = Math.min(Math.max(to[1] + 0.35 * size, box.top + 1.4 * size), at([0, 0])[1] - 0.8 * size);
  write(context, words, x, y, { size, weight: 400, colour: inks.ink, rim: inks.pane });
}

function arrow(
  context: Surface,
  from: readonly [number, number],
  to: readonly [number, number],
  colour: string,
  thick: number,
): void {
  const long = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (long < 4) return;
  const [c, s] = [(to[0] - from[0]) / long, (to[1] - from[1]) / long];
  context.strokeStyle = colour;
  context.lineWidth = thick;
  line(context, ...from, ...to);
  for (const side of [-1, 1])
    line(context, to[0], to[1], to[0] - 7 * c + side * 3.2 * s, to[1] - 7 * s - side * 3.2 * c);
}

/** The body from close by, up at its place upward, with the air that meets it. */
function drawOwn(
  context: Surface,
  box: Box,
  scene: LandingScene,
  view: LandingView,
  look: LandingLook,
): void {
  const { inks, size } = look;
  const width = box.right - box.left;
  const height = box.bottom - box.top;
  const scale = (FILLS * Math.min(width, height)) / scene.length_m;
  const [c, s] = [Math.cos(-view.tilt_rad), Math.sin(-view.tilt_rad)];
  const turned = ([p, q]: Place): Place => [c * p - s * q, s * p + c * q];
  const angle_rad = view.bodies[0]!.attitude_rad - view.tilt_rad;
  // The middle of its axis stands still, and the body turns about it.
  const middle = placed({ plane: [0, 0], angle_rad }, 0.5 * scene.length_m, -scene.feet[1]);
  const x0 = box.left + width / 2 - scale * middle[0];
  const y0 = box.top + height / 2 + scale * middle[1];
  const at: At = (place) => {
    const [p, q] = turned(place);
    return [x0 + scale * p, y0 - scale * q];
  };
  const ground = y0 + scale * view.height_m;
  if (ground < box.bottom) {
    context.strokeStyle = inks.ink;
    context.lineWidth = 1.6;
    line(context, box.left, ground, box.right, ground);
  }
  const plate: Plate = { context, box, scale, at, look };
  drawGas(plate, view);
  for (const body of view.bodies) drawBody(plate, body);
  drawAir(plate, scene, box, turned(view.airVelocity), view);
  drawScaleBar(context, box, scale, inks, size, true);
}

/** Lines along which the air comes to meet the body, on both its sides. */
function drawAir(
  { context, look, scale }: Plate,
  scene: LandingScene,
  box: Box,
  velocity: Place,
  view: LandingView,
): void {
  const { inks, size } = look;
  const speed_mps = Math.hypot(...velocity);
  const thin = view.dynamicPressure_Pa < AIR_Pa || speed_mps < 1;
  const words = view.landed
    ? 'down'
    : thin
      ? 'no air to speak of'
      : `air from here, Mach ${fixed(view.mach, 2)}, ${fixed(view.dynamicPressure_Pa / 1000, view.dynamicPressure_Pa < 1000 ? 2 : 1)}\u202FkPa`;
  write(context, words, box.left + 12, box.top + 1.9 * size, {
    size,
    weight: 400,
    colour: inks.ink2,
    rim: inks.pane,
  });
  if (thin || view.landed) return;
  const [c, s] = [velocity[0] / speed_mps, -velocity[1] / speed_mps];
  const [x, y] = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
  const half = 0.5 * scale * scene.length_m;
  for (const side of [-1.35, -1, 1, 1.35]) {
    const aside = side * BESIDE * 2 * half;
    const [sx, sy] = [x + 1.25 * half * c - aside * s, y + 1.25 * half * s + aside * c];
    arrow(context, [sx, sy], [sx - 0.5 * half * c, sy - 0.5 * half * s], inks.air, 1.2);
  }
}
