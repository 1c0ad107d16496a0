/**
 * Lanes draw and encode segments side by side, and hand them over in the order of the film. How many lanes there are changes
 * no byte: a segment is made by itself.
 */
import type { CueTrack } from '../../../core/replay/film/cueTrack.ts';
import type { FilmSegment, SegmentSpan } from '../../../core/replay/film/segment.ts';
import type { FilmScene, SolvedFlight } from '../picture/scene.ts';
import { FACES } from '../picture/type.ts';
import type { Face, FromLane, LaneOrders, LaneSettings, SentFlight, ToLane } from './laneProtocol.ts';

/** What lanes need of a worker. */
export interface LaneWorker {
  postMessage(message: ToLane): void;
  onmessage: ((event: MessageEvent<FromLane>) => void) | null;
  onerror: ((event: ErrorEvent) => void) | null;
  terminate(): void;
}

/** More lanes than this want more memory than they save time: encoders have threads of their own. */
const MOST_LANES = 4;

const laneCount = (): number => Math.max(1, Math.min(MOST_LANES, navigator.hardwareConcurrency));

const startLane = (): LaneWorker => new Worker(new URL('./lane.ts', import.meta.url), { type: 'module' });

/** What a lane is told of a film, from what the window has of it. */
export function laneOrders(scene: FilmScene, track: CueTrack, settings: LaneSettings): LaneOrders {
  const { main, compare, ...rest } = scene.parts;
  const parts = { ...rest, main: sent(main), compare: compare === null ? null : sent(compare) };
  return { parts, film: track.film, faces: facesOfPage(), settings };
}

function sent({ compiled: _, ...flight }: SolvedFlight): SentFlight {
  return flight;
}

/** The page's own faces of the film's type, as its style sheets name them. */
function facesOfPage(): Face[] {
  const wanted = FACES.join(' ');
  return [...document.styleSheets]
    .flatMap((sheet) => [...sheet.cssRules].map((rule) => ({ rule, base: sheet.href ?? document.baseURI })))
    .flatMap(({ rule, base }) => (rule instanceof CSSFontFaceRule ? [{ style: rule.style, base }] : []))
    .map(({ style, base }) => {
      const of = (name: string): string => style.getPropertyValue(name);
      const descriptors: FontFaceDescriptors = {
        ...(of('font-weight') === '' ? {} : { weight: of('font-weight') }),
        ...(of('font-style') === '' ? {} : { style: of('font-style') }),
        ...(of('unicode-range') === '' ? {} : { unicodeRange: of('unicode-range') }),
      };
      const source = of('src').replace(
        /url\((["']?)([^"')]+)\1\)/g,
        (_, __, address: string) => `url("${new URL(address, base).href}")`,
      );
      return { family: of('font-family').replace(/^["']|["']$/g, ''), source, descriptors };
    })
    .filter(({ family }) => wanted.includes(family));
}

export interface LaneHooks {
  /** Takes the segments one by one in their order; the lanes wait when it is behind. */
  readonly take: (segment: FilmSegment) => Promise<void>;
  readonly drawn: () => void;
  readonly glimpse: (picture: ImageBitmap) => void;
}

export class Lanes {
  private readonly workers: LaneWorker[];
  /** Not yet given to a lane, from the next on. */
  private waiting: SegmentSpan[] = [];
  private readonly made = new Map<number, FilmSegment>();
  private next = 0;
  private last = 0;
  private taking = false;
  private over = false;
  private settle: { resolve: () => void; reject: (error: Error) => void } = {
    resolve: () => undefined,
    reject: () => undefined,
  };
  /** Lanes that wait because what they made has not been taken yet. */
  private idle: LaneWorker[] = [];

  constructor(
    private readonly orders: LaneOrders,
    private readonly hooks: LaneHooks,
    count = laneCount(),
    start: () => LaneWorker = startLane,
  ) {
    this.workers = Array.from({ length: count }, start);
  }

  /** Makes the segments; resolves when all are taken or it was ended. Rejects with Error whose message is a sentence. */
  run(spans: readonly SegmentSpan[]): Promise<void> {
    const first = spans[0];
    if (first === undefined || this.over) {
      this.end();
      return Promise.resolve();
    }
    this.waiting = [...spans];
    this.next = first.number;
    this.last = spans[spans.length - 1]!.number;
    return new Promise((resolve, reject) => {
      this.settle = { resolve, reject };
      for (const worker of this.workers) {
        worker.onmessage = ({ data }) => this.hear(worker, data);
        worker.onerror = ({ message }) => this.fail(new Error(message || 'The film could not be drawn.'));
        worker.postMessage({ kind: 'begin', orders: this.orders });
      }
    });
  }

  pause(paused: boolean): void {
    for (const worker of this.workers) worker.postMessage({ kind: 'pause', paused });
  }

  /** Begins no further segment; resolves with those that are being made. */
  finish(): void {
    const { waiting } = this;
    this.waiting = [];
    this.last = (waiting[0]?.number ?? this.last + 1) - 1;
    if (this.next > this.last && !this.taking) this.end();
  }

  /** Ends it here; segments that are not whole yet are dropped. */
  end(): void {
    if (this.over) return;
    this.over = true;
    for (const worker of this.workers) worker.terminate();
    if (!this.taking) this.settle.resolve();
  }

  private fail(error: Error): void {
    if (this.over) return;
    this.over = true;
    for (const worker of this.workers) worker.terminate();
    this.settle.reject(error);
  }

  private hear(worker: LaneWorker, message: FromLane): void {
    if (this.over) return;
    switch (message.kind) {
      case 'free':
        this.idle.push(worker);
        this.handOut();
        break;
      case 'drawn':
        this.hooks.drawn();
        break;
      case 'glimpse':
        this.hooks.glimpse(message.picture);
        break;
      case 'made':
        this.made.set(message.segment.number, message.segment);
        void this.takeAll();
        break;
      case 'failed':
        this.fail(new Error(message.message));
    }
  }

  /** No lane runs further ahead than two segments a lane: what waits to be taken stays small. */
  private handOut(): void {
    const furthest = this.next + 2 * this.workers.length;
    while (this.idle.length > 0 && this.waiting.length > 0 && this.waiting[0]!.number < furthest)
      this.idle.shift()!.postMessage({ kind: 'make', span: this.waiting.shift()! });
  }

  private async takeAll(): Promise<void> {
    if (this.taking) return;
    this.taking = true;
    try {
      for (;;) {
        const segment = this.made.get(this.next);
        if (segment === undefined || this.over) break;
        this.made.delete(this.next);
        await this.hooks.take(segment);
        this.next += 1;
        this.handOut();
      }
    } catch (error) {
      this.fail(error instanceof Error ? error : new Error(String(error)));
      return;
    } finally {
      this.taking = false;
    }
    if (this.over) this.settle.resolve();
    else if (this.next > this.last) this.end();
  }
}
