/** The braid on a canvas: the same shapes as the window's band, for a film. Sizes in the units of the context. */
import type { BraidShape, Point, StrandShape } from '../../core/replay/braid.ts';

type Context = CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D;

/** How a strand is coloured. */
export interface StrandInk {
  readonly edge: string;
  /** Colour of the tint for so much propellant left, 0 to 1. */
  readonly tint: (fill: number) => string;
}

export interface BraidInk {
  readonly sheet: string;
  readonly strand: (strand: StrandShape) => StrandInk;
  /** Strength of what is still to come, 0 to 1. */
  readonly future: number;
}

/** Draws strands up to a right edge; what is past at full strength, what is to come pale. Time in s. */
export function drawBraid(
  context: Context,
  shape: BraidShape,
  time_s: number,
  ink: BraidInk,
  edges: { left: number; right: number; top: number; bottom: number; line: number },
): void {
  const x = Math.min(Math.max(shape.x(time_s), edges.left), edges.right);
  const height = edges.bottom - edges.top;
  const halves = [
    { from: edges.left, to: x, strength: 1 },
    { from: x, to: edges.right, strength: ink.future },
  ];
  for (const { from, to, strength } of halves) {
    if (!(to > from)) continue;
    context.save();
    context.beginPath();
    context.rect(from, edges.top, to - from, height);
    context.clip();
    context.globalAlpha = strength;
    for (const strand of shape.strands) drawStrand(context, strand, ink, edges);
    context.restore();
  }
}

function drawStrand(
  context: Context,
  s: StrandShape,
  { strand, sheet }: BraidInk,
  edges: { right: number; line: number },
): void {
  const { edge, tint } = strand(s);
  const first = s.tint[0];
  const last = s.tint[s.tint.length - 1];
  if (first !== undefined && last !== undefined && last.x > first.x) {
    const gradient = context.createLinearGradient(first.x, 0, last.x, 0);
    s.tint.forEach((stop, i) => gradient.addColorStop(i / (s.tint.length - 1), tint(stop.fill)));
    context.fillStyle = gradient;
    context.beginPath();
    trace(context, s.upper, false);
    trace(context, s.lower, true);
    context.closePath();
    context.fill();
  }
  context.strokeStyle = sheet;
  const strength = context.globalAlpha;
  context.globalAlpha = 0.7 * strength;
  context.lineWidth = 0.7;
  for (const thread of s.threads) {
    context.beginPath();
    trace(context, thread, false);
    context.stroke();
  }
  context.globalAlpha = strength;
  context.strokeStyle = edge;
  context.lineWidth = edges.line;
  for (const line of [s.upper, s.lower]) {
    context.beginPath();
    trace(context, line, false);
    context.stroke();
  }
  const end = s.upper[s.upper.length - 1];
  if (!s.endsInside || end === undefined) return;
  if (s.strand.end === 'orbit') {
    context.beginPath();
    context.moveTo(end.x, end.y + 0.5);
    context.lineTo(edges.right, end.y + 0.5);
    context.stroke();
  }
  if (s.strand.end === 'down') {
    context.fillStyle = edge;
    context.fillRect(end.x + 1.5, end.y - 7, 1, 14);
    context.fillRect(end.x + 4, end.y - 7, 3, 14);
  }
}

function trace(context: Context, points: readonly Point[], back: boolean): void {
  const list = back ? [...points].reverse() : points;
  list.forEach((p, i) => {
    if (i === 0 && !back) context.moveTo(p.x, p.y);
    else context.lineTo(p.x, p.y);
  });
}

/** A knot: a filled diamond where the sequence set it, an open ring where the flight found it. */
export function drawKnot(
  context: Context,
  x: number,
  y: number,
  cause: 'set' | 'found',
  colour: string,
  sheet: string,
): void {
  context.beginPath();
  if (cause === 'set') {
    context.moveTo(x, y - 6.5);
    context.lineTo(x + 6.5, y);
    context.lineTo(x, y + 6.5);
    context.lineTo(x - 6.5, y);
    context.closePath();
    context.fillStyle = colour;
    context.strokeStyle = sheet;
    context.lineWidth = 1;
  } else {
    context.arc(x, y, 4.2, 0, 2 * Math.PI);
    context.fillStyle = sheet;
    context.strokeStyle = colour;
    context.lineWidth = 1.6;
  }
  context.fill();
  context.stroke();
}
