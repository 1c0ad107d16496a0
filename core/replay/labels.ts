/**
 * Flags for the braid's knots: upper bodies above, lower below, on leaders, placed from right to left on the nearest free
 * level. What finds no room is left out, least important first; labels never overlap. Lengths in pixels, y down.
 */
export interface LabelRequest {
  readonly id: string;
  readonly name: string;
  readonly note: string;
  /** Where the knot is. */
  readonly x: number;
  readonly y: number;
  readonly side: 'above' | 'below';
  readonly rank: number;
}

export interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

export interface PlacedLabel extends LabelRequest {
  readonly box: Box;
  /** Text starts at the box's left, or ends at its right when flipped. */
  readonly flipped: boolean;
  /** The leader runs from the knot to here. */
  readonly leaderY: number;
  /** Widths of name and note, so that a drawing need not measure again. */
  readonly nameWidth: number;
}

export interface LabelField {
  readonly left: number;
  readonly right: number;
  /** Edge nearest to the strands for each side, and how far levels may go. */
  readonly aboveBase: number;
  readonly aboveTop: number;
  readonly belowBase: number;
  readonly belowBottom: number;
  /** Kept free: blocks of numbers and what else has right of way. */
  readonly taken: readonly Box[];
  /** Height of one level. */
  readonly level: number;
  /** Width of a text in this drawing's type. */
  readonly measure: (text: string, strong: boolean) => number;
}

const GAP = 5;
const PAD = 6;

/** Places what fits; order of the result is that of the requests. Lengths in pixels. */
export function placeLabels(requests: readonly LabelRequest[], field: LabelField): PlacedLabel[] {
  const placed: PlacedLabel[] = [];
  for (const rank of [...new Set(requests.map((r) => r.rank))].sort((p, q) => p - q)) {
    const own = requests.filter((r) => r.rank === rank).sort((p, q) => q.x - p.x);
    for (const request of own) {
      const label = place(request, field, placed);
      if (label !== null) placed.push(label);
    }
  }
  return requests.flatMap((request) =>
    placed.filter((label) => label.id === request.id && label.x === request.x),
  );
}

function place(request: LabelRequest, field: LabelField, placed: readonly PlacedLabel[]): PlacedLabel | null {
  const nameWidth = field.measure(request.name, true);
  const width = nameWidth + (request.note === '' ? 0 : GAP + field.measure(request.note, false));
  const above = request.side === 'above';
  const room = above ? field.aboveBase - field.aboveTop : field.belowBottom - field.belowBase;
  const levels = Math.floor(room / field.level);
  for (const flipped of [false, true]) {
    const left = flipped ? request.x - PAD - width : request.x + PAD;
    if (left < field.left || left + width > field.right) continue;
    for (let level = 0; level < levels; level++) {
      const bottom = above
        ? field.aboveBase - level * field.level
        : field.belowBase + (level + 1) * field.level;
      const box = { left, right: left + width, top: bottom - field.level + 2, bottom: bottom - 1 };
      const leaderY = above ? box.top + 2 : box.bottom - 2;
      if (isFree(box, request, leaderY, field, placed)) {
        return { ...request, box, flipped, leaderY, nameWidth };
      }
    }
  }
  return null;
}

function isFree(
  box: Box,
  request: LabelRequest,
  leaderY: number,
  field: LabelField,
  placed: readonly PlacedLabel[],
): boolean {
  const leader = leaderBox(request.x, request.y, leaderY);
  if (field.taken.some((taken) => overlap(box, taken) || overlap(leader, taken))) return false;
  return placed.every((other) => {
    const otherLeader = leaderBox(other.x, other.y, other.leaderY);
    return !overlap(box, grown(other.box)) && !overlap(box, otherLeader) && !overlap(leader, other.box);
  });
}

function leaderBox(x: number, y0: number, y1: number): Box {
  return { left: x - 1, right: x + 1, top: Math.min(y0, y1), bottom: Math.max(y0, y1) };
}

function grown(box: Box): Box {
  return { left: box.left - 6, right: box.right + 6, top: box.top, bottom: box.bottom };
}

/** Whether two boxes share more than an edge. Lengths in pixels. */
export function overlap(p: Box, q: Box): boolean {
  return p.left < q.right && q.left < p.right && p.top < q.bottom && q.top < p.bottom;
}
