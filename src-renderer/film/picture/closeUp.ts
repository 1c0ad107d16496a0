/**
 * The close-up of a parting, for film and window: both bodies at one true scale along the stack's axis, gas where engines
 * burn, the gap as a dimension line, and a mark where they touch again. Plain data and a time; sizes in sheet units.
 */
import type { Place } from '../../../core/replay/bodyFrame.ts';
import type { CloseBody, CloseUp } from '../../../core/replay/closeUp.ts';
import { closeUpBetween, type CloseUps } from '../../../core/replay/film/closeUps.ts';
import type { Box } from '../../../core/replay/labels.ts';
import type { BodyColour } from '../../../core/replay/strands.ts';
import { fixed } from '../../../core/units/figures.ts';
import { line } from './column.ts';
import { bodyInk, type SheetInks } from './inks.ts';
import { drawPlume } from './plume.ts';
import { widthOf, write, type Surface } from './type.ts';

export interface CloseUpLook {
  readonly inks: SheetInks;
  readonly colourOf: (body: number) => BodyColour;
  /** Of the small type. */
  readonly size: number;
  /** All of both bodies with room for the gap, or the interstage alone. */
  readonly zoom: 'whole' | 'joint';
  /** Everything: names at the bodies, drift, a person for size, the way up; gap and scale alone; or the bodies alone. */
  readonly detail: 'everything' | 'gap' | 'bodies';
  readonly nameOf: (body: number) => string;
}

/** Room for the gap at the chosen scale, in lengths of the joined stack but no more than so many metres. */
const ROOM = 0.8;
const ROOM_m = 40;
/** Heights shown of the interstage, in its diameters. */
const JOINT = 1.75;
const TIGHT = 1.25;

export type At = (place: Place) => [number, number];

interface Sheet {
  readonly context: Surface;
  readonly box: Box;
  readonly scale: number;
  readonly at: At;
  readonly look: CloseUpLook;
}

/** Draws into a box of sheet units; mission time in s. After the last view bodies that touch stay; others are far apart. */
export function drawCloseUp(
  context: Surface,
  box: Box,
  views: CloseUps,
  mission_s: number,
  look: CloseUpLook,
): void {
  const { inks, size } = look;
  const { touch } = views.told;
  if (mission_s > views.end_s && touch === null) {
    write(context, 'far apart', (box.left + box.right) / 2, (box.top + box.bottom) / 2, {
      ...{ size: size + 1, weight: 400, colour: inks.ink2, align: 'center' },
    });
    return;
  }
  const view = closeUpBetween(views, mission_s);
  const sheet = layOut(context, box, views, view, look);
  context.save();
  context.beginPath();
  context.rect(box.left, box.top, box.right - box.left, box.bottom - box.top);
  context.clip();
  drawBodies(sheet, view);
  const everything = look.detail === 'everything';
  if (mission_s >= views.release_s && look.detail !== 'bodies') {
    drawGap(sheet, view);
    if (everything) drawDrift(sheet, view);
  }
  if (everything) drawNames(sheet, view);
  if (touch !== null && mission_s >= views.end_s - 1e-9) drawTouch(sheet, touch.place);
  if (everything) drawLevel(sheet, views.climb_rad);
  context.restore();
  if (look.detail !== 'bodies') drawScale(sheet);
}

function layOut(context: Surface, box: Box, views: CloseUps, view: CloseUp, look: CloseUpLook): Sheet {
  const joined = views.views[0]!;
  const places = [...joined.upper, ...joined.lower].flatMap(({ outline, bells }) => [
    ...outline,
    ...bells.flat(),
  ]);
  const low_m = Math.min(...places.map(([along]) => along));
  const high_m = Math.max(...places.map(([along]) => along));
  const wide_m = 2 * Math.max(...places.map(([, across]) => Math.abs(across)));
  const width = box.right - box.left;
  const height = box.bottom - box.top;
  const room_m = Math.min(ROOM_m, ROOM * (high_m - low_m));
  const plane_m = 2 * Math.max(...joined.upper[0]!.outline.slice(0, 1).map(([, across]) => Math.abs(across)));
  const scale =
    look.zoom === 'joint'
      ? Math.min(height / ((look.detail === 'bodies' ? TIGHT : JOINT) * plane_m), width / (2 * plane_m))
      : Math.min((width - 24) / (high_m - low_m + room_m), (0.5 * height) / wide_m);
  // The middle of the gap keeps its place: both bodies move away from it.
  const middle_m = look.zoom === 'joint' ? 0 : 0.5 * (high_m + low_m);
  const x0 = box.left + 0.5 * width - scale * middle_m + scale * 0.5 * view.gap_m;
  const y0 = box.top + { everything: 0.54, gap: 0.56, bodies: 0.5 }[look.detail] * height;
  return {
    context,
    box,
    scale,
    at: ([along, across]) => [x0 + scale * along, y0 - scale * across],
    look,
  };
}

function drawBodies(sheet: Sheet, view: CloseUp): void {
  const { context, at, look, box, scale } = sheet;
  const { inks } = look;
  const [, y0] = at([0, 0]);
  context.strokeStyle = inks.ink3;
  context.lineWidth = 0.8;
  context.setLineDash([14, 4, 2, 4]);
  line(context, box.left, y0, box.right, y0);
  context.setLineDash([]);
  const gas = (): void => {
    for (const plume of view.plumes) {
      const ink = bodyInk(inks, look.colourOf(plume.body));
      drawPlume(context, plume, (along, across) => at([along, across]), scale, ink.full);
    }
  };
  gas();
  for (const body of view.lower) drawBody(sheet, body);
  if (view.well !== null) {
    // Seen through its wall: what stands in the interstage, and the gas in it.
    context.save();
    trace(context, view.well, at);
    context.fillStyle = inks.pane;
    context.fill();
    context.clip();
    gas();
    context.restore();
    const lower = bodyInk(inks, look.colourOf(view.lower[0]!.body));
    context.strokeStyle = lower.ink;
    context.lineWidth = 2.2;
    for (const [from, to] of [
      [0, 1],
      [2, 3],
      [3, 0],
    ] as const)
      line(context, ...at(view.well[from]!), ...at(view.well[to]!));
  }
  if (view.section !== null) {
    const upper = bodyInk(inks, look.colourOf(view.upper[0]!.body));
    trace(context, view.section, at);
    context.strokeStyle = upper.ink;
    context.lineWidth = 0.8;
    context.setLineDash([4, 3]);
    context.stroke();
    context.setLineDash([]);
  }
  for (const body of view.upper) drawBody(sheet, body);
  drawPushers(sheet, view);
}

/** Springs as zigzags, gas pushers as rods; those that have done their work are left out of the large picture. */
function drawPushers({ context, at, look: { inks, detail, size } }: Sheet, view: CloseUp): void {
  for (const { kind, ends, state } of view.pushers) {
    if (state === 'spent' && detail !== 'bodies') continue;
    const [from, to] = [at(ends[0]), at(ends[1])];
    context.strokeStyle = inks.ink;
    context.lineWidth = detail === 'bodies' || state === 'failed' ? 1 : 1.8;
    if (state === 'failed') context.setLineDash([2, 2]);
    if (kind === 'springs' && Math.hypot(to[0] - from[0], to[1] - from[1]) > 12)
      zigzag(context, from, to, detail === 'bodies' ? 2.2 : 4);
    else {
      const middle = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2] as const;
      line(context, ...from, ...to);
      context.lineWidth *= 2.4;
      line(context, ...from, ...middle);
    }
    context.setLineDash([]);
    if (state === 'failed' && detail === 'everything' && Math.hypot(to[0] - from[0], to[1] - from[1]) > 12)
      write(context, 'failed', from[0] - 6, from[1] + 0.35 * size, {
        ...{ size, weight: 400, colour: inks.ink, align: 'right', rim: inks.pane },
      });
  }
}

/** A body with its tanks and bells; `at` turns its metres into the context's units. */
export function drawBody(
  {
    context,
    at,
    look: { inks, colourOf },
  }: { context: Surface; at: At; look: Pick<CloseUpLook, 'inks' | 'colourOf'> },
  body: CloseBody,
): void {
  const own = bodyInk(inks, colourOf(body.body));
  for (const bell of body.bells) {
    trace(context, bell, at);
    context.fillStyle = inks.pane;
    context.fill();
    context.strokeStyle = own.ink;
    context.lineWidth = 1.1;
    context.stroke();
  }
  trace(context, body.outline, at);
  context.fillStyle = inks.pane;
  context.fill();
  for (const tank of body.tanks) {
    trace(context, tank.outline, at);
    context.fillStyle = own.empty;
    context.fill();
    for (const liquid of tank.liquid) {
      trace(context, liquid, at);
      context.fillStyle = own.full;
      context.fill();
    }
    trace(context, tank.outline, at);
    context.strokeStyle = own.ink;
    context.lineWidth = 0.8;
    context.stroke();
  }
  trace(context, body.outline, at);
  context.strokeStyle = own.ink;
  context.lineWidth = 1.6;
  context.stroke();
}

function trace(context: Surface, places: readonly Place[], at: At): void {
  context.beginPath();
  places.forEach((place, i) => {
    const [x, y] = at(place);
    if (i === 0) context.moveTo(x, y);
    else context.lineTo(x, y);
  });
  context.closePath();
}

function zigzag(
  context: Surface,
  [x0, y0]: [number, number],
  [x1, y1]: [number, number],
  most: number,
): void {
  const turns = 6;
  const long = Math.hypot(x1 - x0, y1 - y0);
  if (long < 2) return;
  const wide = Math.min(most, 0.4 * long);
  const [nx, ny] = [(-(y1 - y0) / long) * wide, ((x1 - x0) / long) * wide];
  context.beginPath();
  context.moveTo(x0, y0);
  for (let i = 1; i < 2 * turns; i++) {
    const share = i / (2 * turns);
    const side = i % 2 === 0 ? -1 : 1;
    context.lineTo(x0 + share * (x1 - x0) + side * nx, y0 + share * (y1 - y0) + side * ny);
  }
  context.lineTo(x1, y1);
  context.stroke();
}

/** Metres below ten with two decimals, above with one. */
function metres(value_m: number): string {
  return fixed(value_m, Math.abs(value_m) < 10 ? 2 : 1);
}

function drawGap({ context, box, at, look }: Sheet, view: CloseUp): void {
  const { inks, size, detail } = look;
  const full = detail === 'everything';
  const [from, to] = view.dimension.map(at) as [[number, number], [number, number]];
  const y = box.top + (full ? 2.6 : 1.9) * size;
  context.strokeStyle = inks.ink;
  context.lineWidth = 1.2;
  if (to[0] - from[0] > 2) line(context, from[0], y, to[0], y);
  for (const [x, below] of [from, to]) {
    context.strokeStyle = inks.ink;
    context.lineWidth = 1.2;
    line(context, x - 5, y + 5, x + 5, y - 5);
    context.lineWidth = 0.7;
    context.strokeStyle = inks.ink3;
    line(context, x, y + 6, x, below - 4);
  }
  const text = full ? metres(view.gap_m) : fixed(view.gap_m, 1);
  const big = (full ? 2.3 : 1.75) * size;
  const wide = widthOf(context, text, big, 600);
  const left = Math.min(Math.max(to[0] + 14, box.left + 8), box.right - wide - (full ? 190 : 40));
  const base = y + 0.35 * big;
  write(context, text, left, base, { size: big, weight: 600, colour: inks.ink, rim: inks.pane });
  const small = { size: full ? size : 0.62 * big, weight: 400, colour: inks.ink2, rim: inks.pane } as const;
  const unit = full ? `m gap, ${fixed(view.speed_mps, 2, true)}\u202Fm/s` : 'm';
  write(context, unit, left + wide + 4, base, small);
}

/** Less than this many sheet units across is not drawn as a line. */
const SEEN = 2.5;

function drawDrift(sheet: Sheet, view: CloseUp): void {
  const { context, box, at } = sheet;
  const { inks, size } = sheet.look;
  const [axis, middle] = view.drift.map(at) as [[number, number], [number, number]];
  const across = Math.abs(view.drift_m);
  if (across < 5e-4) return;
  const text = `${across < 1 ? fixed(1000 * across, 0) : fixed(across, 2)}\u202F${across < 1 ? 'mm' : 'm'} across`;
  const x = axis[0];
  const y = box.bottom - 1.6 * size;
  context.strokeStyle = inks.ink;
  context.lineWidth = 1.4;
  if (Math.abs(middle[1] - axis[1]) > SEEN) {
    line(context, x, axis[1], x, middle[1]);
    for (const end of [axis, middle]) line(context, x - 5, end[1] + 4, x + 5, end[1] - 4);
  }
  context.lineWidth = 0.7;
  context.strokeStyle = inks.ink3;
  line(context, x, Math.max(axis[1], middle[1]) + 6, x, y - size);
  // To the left of its line where the scale stands on the right.
  const wide = widthOf(context, text, size, 600);
  const left = x + 6 + wide > scaleLeft(sheet) - 8 && x - 6 - wide > box.left ? x - 6 - wide : x + 6;
  write(context, text, left, y, { size, weight: 600, colour: inks.ink, rim: inks.pane });
}

/** Names stand below their bodies, as far as they are in sight. */
function drawNames({ context, box, at, look }: Sheet, view: CloseUp): void {
  const { inks, size, nameOf, colourOf } = look;
  for (const group of [view.lower, view.upper]) {
    const body = group[0];
    if (body === undefined) continue;
    const xs = body.outline.map((place) => at(place)[0]);
    const low = Math.max(...body.outline.map((place) => at(place)[1]));
    const left = Math.max(box.left + 12, Math.min(...xs));
    const right = Math.min(box.right - 12, Math.max(...xs));
    const words = nameOf(body.body);
    const wide = widthOf(context, words, size + 1, 700);
    if (right - left < wide) continue;
    const x = Math.min(right - wide, left + 0.5 * (right - left - wide));
    write(context, words, x, Math.min(box.bottom - 3.2 * size, low + 1.6 * size), {
      size: size + 1,
      weight: 700,
      colour: bodyInk(inks, colourOf(body.body)).ink,
      rim: inks.pane,
    });
  }
}

function drawTouch({ context, at, box, look: { inks, size } }: Sheet, place: Place): void {
  const [x, y] = at(place);
  context.strokeStyle = inks.ink;
  context.lineWidth = 2;
  context.beginPath();
  context.arc(x, y, 9, 0, 2 * Math.PI);
  context.stroke();
  line(context, x - 4, y - 4, x + 4, y + 4);
  line(context, x - 4, y + 4, x + 4, y - 4);
  const below = y > (box.top + box.bottom) / 2;
  const text = 'they touch here';
  const wide = widthOf(context, text, size + 1, 600);
  const left = Math.max(box.left + 8, Math.min(x - wide - 26, box.right - wide - 8));
  const base = below ? Math.min(box.bottom - 1.2 * size, y + 40) : Math.max(box.top + 5 * size, y - 34);
  context.lineWidth = 0.8;
  line(context, x - 7, y + (below ? 7 : -7), left + wide + 4, base - 0.35 * size);
  write(context, text, left, base, { size: size + 1, weight: 600, colour: inks.ink, rim: inks.pane });
}

/** The stack's axis against the horizontal, at the upper left. */
function drawLevel({ context, box, look: { inks, size } }: Sheet, climb_rad: number): void {
  const [x, y] = [box.left + 14, box.top + 2.2 * size];
  const long = 54;
  context.strokeStyle = inks.ink3;
  context.lineWidth = 0.8;
  context.setLineDash([14, 4, 2, 4]);
  line(context, x, y, x + long, y);
  context.setLineDash([1.5, 3]);
  line(context, x, y, x + long * Math.cos(climb_rad), y + long * Math.sin(climb_rad));
  context.setLineDash([]);
  context.beginPath();
  context.arc(x, y, 0.7 * long, Math.min(0, climb_rad), Math.max(0, climb_rad));
  context.stroke();
  const degrees = fixed((climb_rad * 180) / Math.PI, 1);
  write(context, `the stack climbs at ${degrees}° to the horizontal`, x + long + 10, y + 0.35 * size, {
    ...{ size, weight: 400, colour: inks.ink2, rim: inks.pane },
  });
}

function drawScale({ context, box, scale, look }: Sheet): void {
  drawScaleBar(context, box, scale, look.inks, look.size, look.detail === 'everything');
}

/** A round length at the lower right, and a person for size where that is wanted and one is not too large; scale in units a metre. */
export function drawScaleBar(
  context: Surface,
  box: Box,
  scale: number,
  inks: SheetInks,
  size: number,
  person: boolean,
): void {
  const length_m = scaleLength_m(box, scale);
  const x = box.right - length_m * scale - 8;
  const y = box.bottom - 8;
  context.strokeStyle = inks.ink;
  context.lineWidth = 1;
  line(context, x, y, x + length_m * scale, y);
  for (const end of [x, x + length_m * scale]) line(context, end, y - 3.5, end, y + 3.5);
  const words = scaleWords(length_m);
  const wide = write(context, words, x - 8, y + 0.35 * size, {
    ...{ size, weight: 400, colour: inks.ink2, align: 'right', rim: inks.pane },
  });
  const room = x - wide - 40 > box.left;
  if (person && room && hasPerson(box, scale)) drawPerson(context, x - wide - 26, y + 3, scale, inks.ink);
}

function scaleLength_m(box: Box, scale: number): number {
  const most = Math.min(190, 0.4 * (box.right - box.left)) / scale;
  const power = 10 ** Math.floor(Math.log10(most));
  return power * ([5, 2, 1].find((each) => each * power <= most) ?? 1);
}

function scaleWords(length_m: number): string {
  const far = length_m >= 1000;
  return `${fixed(far ? length_m / 1000 : length_m, length_m < 1 ? 1 : 0)}\u202F${far ? 'km' : 'm'}, true scale`;
}

function hasPerson(box: Box, scale: number): boolean {
  const high = scale * PERSON_m;
  return high >= 2 && high < 0.14 * (box.bottom - box.top);
}

/** Where the scale, its words and the person beside them begin. */
function scaleLeft({ context, box, scale, look: { size } }: Sheet): number {
  const length_m = scaleLength_m(box, scale);
  const words = box.right - 16 - length_m * scale - widthOf(context, scaleWords(length_m), size, 400);
  return hasPerson(box, scale) ? words - 18 - 0.2 * PERSON_m * scale - 8 : words;
}

const PERSON_m = 1.75;

/** A person of 1.75 m on their feet, for size. */
function drawPerson(context: Surface, x: number, y: number, scale: number, colour: string): void {
  const high = PERSON_m * scale;
  const head = 0.075 * high;
  context.fillStyle = colour;
  context.beginPath();
  context.arc(x, y - high + head, Math.max(0.8, head), 0, 2 * Math.PI);
  context.fill();
  context.strokeStyle = colour;
  context.lineCap = 'round';
  context.lineWidth = Math.max(1, 0.11 * high);
  line(context, x, y - 0.76 * high, x, y - 0.5 * high);
  context.lineWidth = Math.max(0.8, 0.06 * high);
  for (const side of [-1, 1]) {
    line(context, x, y - 0.5 * high, x + side * 0.1 * high, y);
    line(context, x, y - 0.76 * high, x + side * 0.16 * high, y - 0.48 * high);
  }
  context.lineCap = 'butt';
}
