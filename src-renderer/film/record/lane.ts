/** A worker that records segments of a film: its own canvas, its own encoders, nothing shared but what it is told. */
import { resolveCues } from '../../../core/replay/film/cueTrack.ts';
import { compileStudy } from '../../../core/flight/compile.ts';
import type { SegmentSpan } from '../../../core/replay/film/segment.ts';
import { loadType } from '../picture/picture.ts';
import { makeScene, type SolvedFlight } from '../picture/scene.ts';
import type { Face, FromLane, LaneOrders, SentFlight, ToLane } from './laneProtocol.ts';
import { SegmentMaker } from './segmentMaker.ts';

/** Between two pictures to look at at least so long, ms; their width, px. */
const GLIMPSE_ms = 700;
const GLIMPSE_px = 240;

const post = (message: FromLane, transfer: Transferable[] = []): void => postMessage(message, { transfer });
/** Lets messages in: a worker that only draws never hears. */
const turn = new MessageChannel();

let maker: SegmentMaker | null = null;
let paused = false;
let glimpsed_ms = 0;

async function begin({ parts, film, faces, settings }: LaneOrders): Promise<void> {
  await addFaces(faces);
  const { main, compare } = parts;
  const scene = makeScene({ ...parts, main: whole(main), compare: compare === null ? null : whole(compare) });
  const cues = resolveCues(film, scene.facts);
  if (!cues.ok) throw new Error(cues.problems.join(' '));
  maker = new SegmentMaker(scene, cues.track, settings);
  post({ kind: 'free' });
}

const whole = (flight: SentFlight): SolvedFlight => ({ ...flight, compiled: compileStudy(flight.study) });

async function addFaces(faces: readonly Face[]): Promise<void> {
  const { fonts } = self as unknown as { fonts: FontFaceSet };
  for (const { family, source, descriptors } of faces) fonts.add(new FontFace(family, source, descriptors));
  await loadType(fonts);
}

async function make(span: SegmentSpan): Promise<void> {
  if (maker === null) throw new Error('A lane was given a segment before its film.');
  const { made } = await maker.make(span, drawn);
  post({ kind: 'free' });
  const segment = await made;
  const buffers = segment.packets.flatMap(({ data, alpha }) => (alpha === null ? [data] : [data, alpha]));
  post(
    { kind: 'made', segment },
    [...new Set(buffers.map(({ buffer }) => buffer))].filter((b) => b instanceof ArrayBuffer),
  );
}

async function drawn(canvas: OffscreenCanvas): Promise<void> {
  post({ kind: 'drawn' });
  if (performance.now() - glimpsed_ms > GLIMPSE_ms) {
    glimpsed_ms = performance.now();
    const small = new OffscreenCanvas(GLIMPSE_px, Math.round((GLIMPSE_px * canvas.height) / canvas.width));
    small.getContext('2d')?.drawImage(canvas, 0, 0, small.width, small.height);
    const picture = small.transferToImageBitmap();
    post({ kind: 'glimpse', picture }, [picture]);
  }
  await new Promise<void>(afterMessages);
  while (held()) await new Promise((resume) => setTimeout(resume, 50));
}

const held = (): boolean => paused;

function afterMessages(resume: () => void): void {
  turn.port1.onmessage = resume;
  turn.port2.postMessage(null);
}

function failed(error: unknown): void {
  post({ kind: 'failed', message: error instanceof Error ? error.message : String(error) });
}

onmessage = ({ data }: MessageEvent<ToLane>) => {
  switch (data.kind) {
    case 'begin':
      begin(data.orders).catch(failed);
      break;
    case 'make':
      make(data.span).catch(failed);
      break;
    case 'pause':
      paused = data.paused;
  }
};
