/**
 * The braid's geometry: strands as thick as their thrust, joined back to back, parting into lanes. Lengths in pixels, y
 * down, time linear in x. Pure: the same strands and measures give the same shapes, on screen, in a film and in a test.
 */
import type { BodyColour, Strand, StrandSet } from './strands.ts';

export interface BraidMeasures {
  /** Span of time shown, s, and where it lies, px. */
  readonly start_s: number;
  readonly end_s: number;
  readonly left_px: number;
  readonly right_px: number;
  /** Room for the strands alone, px. */
  readonly top_px: number;
  readonly bottom_px: number;
  /** Thickness of the thickest instant, px. */
  readonly thickest_px: number;
  /** Width over which a parted strand eases to its lane, px. */
  readonly ease_px: number;
}

export interface Point {
  readonly x: number;
  readonly y: number;
}

export interface TintStop {
  readonly x: number;
  /** Propellant left over load, 0 to 1. */
  readonly fill: number;
}

export interface StrandShape {
  readonly strand: Strand;
  readonly colour: BodyColour;
  /** Upper and lower edge, left to right, with equal x. */
  readonly upper: readonly Point[];
  readonly lower: readonly Point[];
  /** Lines between neighbouring engines' threads. */
  readonly threads: readonly (readonly Point[])[];
  readonly tint: readonly TintStop[];
  /** Whether both ends lie within the span shown. */
  readonly startsInside: boolean;
  readonly endsInside: boolean;
}

/** How propellant lies before an ignition, as a band along the strand that waits for it. */
export interface SettlingBand {
  readonly body: number;
  readonly colour: BodyColour;
  readonly state: 'settled' | 'moving' | 'unsettled';
  /** The strand's middle line over the band. */
  readonly middle: readonly Point[];
}

/** What a band is made of: mission times, s. */
export interface SettlingSpans {
  readonly body: number;
  readonly spans: readonly {
    readonly start_s: number;
    readonly end_s: number;
    readonly state: SettlingBand['state'];
  }[];
}

export interface BraidShape {
  readonly strands: readonly StrandShape[];
  /** Pixels a newton. */
  readonly scale_pxpN: number;
  readonly x: (t_s: number) => number;
  readonly t: (x_px: number) => number;
  /** Middle and thickness of a strand at a time; null where it is not. `before` looks just before a jump. */
  readonly at: (body: number, t_s: number, before?: boolean) => { y: number; width: number } | null;
}

/** Half thickness of an unlit strand, px: its two edges merge into a hairline. */
const HAIRLINE_px = 0.4;
/** A lit strand is never thinner, px. */
const LIT_px = 2;
/** The sliver of sheet between joined bodies, px. */
const SLIVER_px = 2.4;
/** Free room between lanes, px. */
const LANE_GAP_px = 12;
/** Threads thinner than this are not ruled, px. */
const LEAST_THREAD_px = 1.1;
/** What starts or stops at once is drawn over this long, s. */
const FLANK_s = 0.05;
const EASE_POINTS = 24;
const TINT_POINTS = 60;

/** Lays a set of strands out; see the top of the file for units. Throws RangeError when the span of time is empty. */
export function layOutBraid(set: StrandSet, measures: BraidMeasures): BraidShape {
  const { start_s, end_s, left_px, right_px } = measures;
  if (!(end_s > start_s))
    throw new RangeError(`layOutBraid: the span from ${start_s} s to ${end_s} s is empty`);
  const perSecond = (right_px - left_px) / (end_s - start_s);
  const x = (t_s: number): number => left_px + (t_s - start_s) * perSecond;
  const scale = set.mostThrust_N > 0 ? measures.thickest_px / set.mostThrust_N : 0;
  const places = new Places(set, measures, scale, perSecond);
  return {
    strands: set.strands
      .filter((strand) => strand.end_s > start_s && strand.start_s < end_s)
      .map((strand) => shapeOf(strand, places, measures, x)),
    scale_pxpN: scale,
    x,
    t: (px) => start_s + (px - left_px) / perSecond,
    at: (body, t_s, before = false) => {
      const strand = set.strands.find((s) => s.body === body);
      if (strand === undefined || t_s < strand.start_s || t_s > strand.end_s) return null;
      const width = places.width(strand, t_s, before);
      const middle = places.middle(strand, t_s, width, before);
      return { y: middle, width };
    },
  };
}

/** Points along a band: enough to follow a strand that eases to its lane. */
const BAND_POINTS = 16;

/**
 * Bands for the settling of propellant along the strands of a braid, cut to the span shown (s); one for each state that lasts.
 * Positions in px.
 */
export function layOutBands(
  shape: BraidShape,
  settling: readonly SettlingSpans[],
  shown: { readonly start_s: number; readonly end_s: number },
): SettlingBand[] {
  return settling.flatMap(({ body, spans }) =>
    spans.flatMap(({ start_s, end_s, state }): SettlingBand[] => {
      const from = Math.max(start_s, shown.start_s);
      const to = Math.min(end_s, shown.end_s);
      const strand = shape.strands.find((each) => each.strand.body === body);
      if (strand === undefined || !(to > from)) return [];
      const middle = Array.from({ length: BAND_POINTS + 1 }, (_, i): Point | null => {
        const t = from + ((to - from) * i) / BAND_POINTS;
        const place = shape.at(body, t, i === BAND_POINTS);
        return place === null ? null : { x: shape.x(t), y: place.y };
      }).filter((point) => point !== null);
      return middle.length < 2 ? [] : [{ body, colour: strand.colour, state, middle }];
    }),
  );
}

/** Where strands lie. A group of joined bodies has a middle line; its bodies have slots about it. */
class Places {
  private readonly laneOf = new Map<number, number>();
  private readonly slots: { readonly group: readonly number[]; readonly offsets: Map<number, Slot> }[][] = [];
  private readonly partings: number[];

  constructor(
    private readonly set: StrandSet,
    private readonly measures: BraidMeasures,
    private readonly scale: number,
    private readonly perSecond: number,
  ) {
    this.partings = set.joinings.map((joining) => joining.time_s);
    this.assignLanes();
    set.joinings.forEach((joining, index) => {
      const until = this.partings[index + 1] ?? Infinity;
      this.slots.push(
        joining.groups.map((group) => ({ group, offsets: this.slotsOf(group, joining.time_s, until) })),
      );
    });
  }

  /** Thickness of a strand, px. */
  width(strand: Strand, t_s: number, before: boolean): number {
    const thrust = flankedThrust_N(strand, t_s, before);
    const width = thrust * this.scale;
    return thrust > 0 ? Math.max(width, LIT_px) : 2 * HAIRLINE_px;
  }

  /** Middle line of a strand of this thickness, px: in its slot while joined, eased to its lane after a parting. */
  middle(strand: Strand, t_s: number, width: number, before: boolean): number {
    let epoch = 0;
    while (
      epoch + 1 < this.partings.length &&
      (before ? this.partings[epoch + 1]! < t_s : this.partings[epoch + 1]! <= t_s)
    ) {
      epoch += 1;
    }
    const here = this.placed(strand, epoch, width);
    if (epoch === 0) return here;
    const from = this.placed(strand, epoch - 1, width);
    const share = this.easing(strand, epoch, t_s);
    return share >= 1 ? here : from + (here - from) * share * share * (3 - 2 * share);
  }

  /** Time at which a strand has reached its lane after parting number `epoch`, s. */
  easeEnd_s(strand: Strand, epoch: number): number {
    const start = this.partings[epoch]!;
    const lit = strand.spans.find(
      (span) => span.start_s > start && span.startThrust_N + span.endThrust_N > 0,
    );
    const room = 0.85 * ((lit?.start_s ?? Infinity) - start);
    const nextParting = this.partings[epoch + 1] ?? Infinity;
    const wanted = this.measures.ease_px / this.perSecond;
    return start + Math.max(1e-9, Math.min(wanted, room, 0.999 * (nextParting - start)));
  }

  get partingTimes(): readonly number[] {
    return this.partings;
  }

  private easing(strand: Strand, epoch: number, t_s: number): number {
    const start = this.partings[epoch]!;
    return Math.min(1, Math.max(0, (t_s - start) / (this.easeEnd_s(strand, epoch) - start)));
  }

  private placed(strand: Strand, epoch: number, width: number): number {
    const group = this.slots[epoch]!.find((g) => g.group.includes(strand.body));
    const slot = group?.offsets.get(strand.body);
    if (group === undefined || slot === undefined) return this.laneOf.get(strand.body) ?? 0;
    const middle = this.groupMiddle(group.group);
    switch (slot.hold) {
      case 'stands':
        return middle + slot.bottom - width / 2;
      case 'hangs':
        return middle + slot.top + width / 2;
      case 'centred':
        return middle + (slot.top + slot.bottom) / 2;
    }
  }

  /** A group lies at the mean of its bodies' own lanes. */
  private groupMiddle(group: readonly number[]): number {
    return group.reduce((sum, body) => sum + this.laneOf.get(body)!, 0) / group.length;
  }

  private slotsOf(group: readonly number[], from_s: number, until_s: number): Map<number, Slot> {
    const heights = group.map((body) => this.thickest(body, from_s, until_s));
    const total = heights.reduce((sum, h) => sum + h, 0) + SLIVER_px * (group.length - 1);
    const offsets = new Map<number, Slot>();
    let top = -total / 2;
    group.forEach((body, i) => {
      const height = heights[i]!;
      const hold =
        group.length === 1 ? 'centred' : i === 0 ? 'stands' : i === group.length - 1 ? 'hangs' : 'centred';
      offsets.set(body, { top, bottom: top + height, hold });
      top += height + SLIVER_px;
    });
    return offsets;
  }

  /** One lane a body, nose on top, each as high as its greatest thickness after its last parting, all centred. */
  private assignLanes(): void {
    const { strands } = this.set;
    const last = this.partings[this.partings.length - 1]!;
    const heights = strands.map((strand) =>
      this.thickest(strand.body, this.lastParting(strand.body), Infinity),
    );
    // A group that never parts shares one lane.
    const groups = this.set.joinings[this.set.joinings.length - 1]!.groups;
    const lead = strands.map((strand) => groups.find((g) => g.includes(strand.body))?.[0] ?? strand.body);
    const own = strands.map((strand, i) => lead[i] === strand.body || !(last >= 0));
    const room = this.measures.bottom_px - this.measures.top_px;
    const total = heights.reduce((sum, h, i) => sum + (own[i]! ? h + LANE_GAP_px : 0), -LANE_GAP_px);
    const spare = Math.max(0, room - total) / (own.filter(Boolean).length + 1);
    let y = this.measures.top_px + (total > room ? (room - total) / 2 : spare);
    strands.forEach((strand, i) => {
      if (own[i]!) {
        this.laneOf.set(strand.body, y + heights[i]! / 2);
        y += heights[i]! + LANE_GAP_px + spare;
      }
    });
    strands.forEach((strand, i) => {
      if (!own[i]!) this.laneOf.set(strand.body, this.laneOf.get(lead[i]!)!);
    });
  }

  private lastParting(body: number): number {
    let time = -Infinity;
    for (let e = 1; e < this.set.joinings.length; e++) {
      const before = this.set.joinings[e - 1]!.groups.find((g) => g.includes(body));
      const after = this.set.joinings[e]!.groups.find((g) => g.includes(body));
      if (before?.length !== after?.length) time = this.set.joinings[e]!.time_s;
    }
    return time;
  }

  private thickest(body: number, from_s: number, until_s: number): number {
    const strand = this.set.strands.find((s) => s.body === body);
    let most = 2 * HAIRLINE_px;
    for (const span of strand?.spans ?? []) {
      if (span.end_s <= from_s || span.start_s >= until_s) continue;
      most = Math.max(most, span.startThrust_N * this.scale, span.endThrust_N * this.scale);
    }
    return most;
  }
}

interface Slot {
  readonly top: number;
  readonly bottom: number;
  readonly hold: 'stands' | 'hangs' | 'centred';
}

/** Thrust with jumps drawn as flanks: linear over `FLANK_s` after the jump. N. */
function flankedThrust_N(strand: Strand, t_s: number, before: boolean): number {
  const { spans } = strand;
  let index = 0;
  while (
    index + 1 < spans.length &&
    (before ? spans[index + 1]!.start_s < t_s : spans[index + 1]!.start_s <= t_s)
  ) {
    index += 1;
  }
  const span = spans[index];
  if (span === undefined) return 0;
  const share =
    span.end_s > span.start_s ? Math.min(1, (t_s - span.start_s) / (span.end_s - span.start_s)) : 0;
  const thrust = span.startThrust_N + share * (span.endThrust_N - span.startThrust_N);
  const previous = spans[index - 1];
  const from = previous?.endThrust_N ?? 0;
  const flank = Math.min(FLANK_s, 0.5 * (span.end_s - span.start_s));
  if (from === span.startThrust_N || t_s >= span.start_s + flank) return thrust;
  const part = flank > 0 ? (t_s - span.start_s) / flank : 1;
  return from + (thrust - from) * Math.max(0, part);
}

function shapeOf(
  strand: Strand,
  places: Places,
  measures: BraidMeasures,
  x: (t_s: number) => number,
): StrandShape {
  const from = Math.max(strand.start_s, measures.start_s);
  const to = Math.min(strand.end_s, measures.end_s);
  const times = sampleTimes(strand, places, from, to);
  const upper: Point[] = [];
  const lower: Point[] = [];
  for (const t of times) {
    const width = places.width(strand, t, false);
    const y = places.middle(strand, t, width, false);
    upper.push({ x: x(t), y: y - width / 2 });
    lower.push({ x: x(t), y: y + width / 2 });
  }
  return {
    strand,
    colour: strand.colour,
    upper,
    lower,
    threads: threadsOf(strand, places, from, to, x),
    tint: tintOf(strand, from, to, x),
    startsInside: strand.start_s >= measures.start_s,
    endsInside: strand.end_s <= measures.end_s,
  };
}

function sampleTimes(strand: Strand, places: Places, from: number, to: number): number[] {
  const times = new Set<number>([from, to]);
  const add = (t: number): void => {
    if (t > from && t < to) times.add(t);
  };
  for (const span of strand.spans) {
    add(span.start_s);
    add(span.start_s + Math.min(FLANK_s, 0.5 * (span.end_s - span.start_s)));
    add(span.end_s);
  }
  places.partingTimes.forEach((start, epoch) => {
    if (epoch === 0) return;
    const end = places.easeEnd_s(strand, epoch);
    for (let i = 0; i <= EASE_POINTS; i++) add(start + ((end - start) * i) / EASE_POINTS);
  });
  return [...times].sort((p, q) => p - q);
}

/** Lines between engines' threads, a run of lines for each stretch with a constant number of engines. */
function threadsOf(
  strand: Strand,
  places: Places,
  from: number,
  to: number,
  x: (t_s: number) => number,
): Point[][] {
  const lines: Point[][] = [];
  let i = 0;
  while (i < strand.spans.length) {
    const { engines } = strand.spans[i]!;
    let j = i;
    while (j + 1 < strand.spans.length && strand.spans[j + 1]!.engines === engines) j += 1;
    const start = Math.max(from, strand.spans[i]!.start_s);
    const end = Math.min(to, strand.spans[j]!.end_s);
    if (engines > 1 && end > start) {
      const times = sampleTimes(strand, places, start, end);
      const rows: Point[][] = Array.from({ length: engines - 1 }, () => []);
      for (const t of times) {
        const width = places.width(strand, t, t === end);
        const y = places.middle(strand, t, width, t === end);
        rows.forEach((row, k) => row.push({ x: x(t), y: y - width / 2 + (width * (k + 1)) / engines }));
      }
      const thickest = Math.max(...times.map((t) => places.width(strand, t, t === end)));
      if (thickest / engines >= LEAST_THREAD_px) lines.push(...rows);
    }
    i = j + 1;
  }
  return lines;
}

function tintOf(strand: Strand, from: number, to: number, x: (t_s: number) => number): TintStop[] {
  const stops: TintStop[] = [];
  let span = 0;
  for (let i = 0; i <= TINT_POINTS; i++) {
    const t = from + ((to - from) * i) / TINT_POINTS;
    while (span + 1 < strand.spans.length && strand.spans[span + 1]!.start_s <= t) span += 1;
    const s = strand.spans[span];
    const share =
      s === undefined || s.end_s <= s.start_s ? 0 : Math.min(1, (t - s.start_s) / (s.end_s - s.start_s));
    stops.push({ x: x(t), fill: s === undefined ? 0 : s.startFill + share * (s.endFill - s.startFill) });
  }
  return stops;
}
