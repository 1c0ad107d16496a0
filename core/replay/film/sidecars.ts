/** What stands beside a film for those who cut it: captions, chapters, telemetry by frame, the cue sheet. */
import { formatTime } from '../../units/format.ts';
import { filmState, type CueTrack } from './cueTrack.ts';
import { frameCount, frameTime_s, rateName, type FrameRate } from './rate.ts';

interface Caption {
  readonly from_s: number;
  readonly to_s: number;
  readonly text: string;
}

/** The captions with the film time (s) over which each stands; cues that change nothing are joined. */
export function captionSpans(track: CueTrack): Caption[] {
  const spans: Caption[] = [];
  track.cues.forEach((cue, i) => {
    const to_s = track.cues[i + 1]?.at_s ?? track.length_s;
    const last = spans[spans.length - 1];
    if (to_s <= cue.at_s) return;
    if (last?.text === cue.caption && last.to_s === cue.at_s) spans[spans.length - 1] = { ...last, to_s };
    else spans.push({ from_s: cue.at_s, to_s, text: cue.caption });
  });
  return spans.filter((span) => span.text !== '');
}

/** Hours, minutes, seconds and milliseconds of a film time in s. */
function stamp(time_s: number, mark: ',' | '.'): string {
  const ms = Math.round(time_s * 1000);
  const two = (value: number): string => String(value).padStart(2, '0');
  const seconds = Math.floor(ms / 1000);
  const head = `${two(Math.floor(seconds / 3600))}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
  return `${head}${mark}${String(ms % 1000).padStart(3, '0')}`;
}

/** The captions as a SubRip file; film time. */
export function srtText(track: CueTrack): string {
  return captionSpans(track)
    .map(({ from_s, to_s, text }, i) => `${i + 1}\n${stamp(from_s, ',')} --> ${stamp(to_s, ',')}\n${text}\n`)
    .join('\n');
}

/** The captions as WebVTT (W3C), film time; `notes` are written as comments. */
export function vttText(track: CueTrack, notes: readonly string[]): string {
  const plain = (text: string): string =>
    text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');
  const blocks = captionSpans(track).map(
    ({ from_s, to_s, text }, i) => `${i + 1}\n${stamp(from_s, '.')} --> ${stamp(to_s, '.')}\n${plain(text)}`,
  );
  const comments = notes.map((note) => `NOTE ${note.replaceAll('-->', '→').replaceAll('\n', ' ')}`);
  return `${['WEBVTT', ...comments, ...blocks].join('\n\n')}\n`;
}

const PLATES: Readonly<Record<string, string>> = {
  title: 'Title',
  map: 'The flight',
  staging: 'Staging',
  landing: 'The landing',
  compare: 'Two gaps',
  chart: 'The curve',
  answer: 'The answer',
  assumptions: 'Assumptions',
  caution: 'Caution',
};

/** One chapter a plate: film time (s) at which it begins, and its title. */
function chapters(track: CueTrack): { at_s: number; title: string }[] {
  const list: { at_s: number; title: string }[] = [];
  for (const cue of track.cues) {
    const title = PLATES[cue.plate] ?? cue.plate;
    if (list.at(-1)?.title !== title) list.push({ at_s: cue.at_s, title });
  }
  return list;
}

/** The chapters as lines of film time and title, as video sites read them. Film time in s. */
export function chaptersText(track: CueTrack): string {
  return chapters(track)
    .map(({ at_s, title }) => `${stamp(at_s, '.').slice(3, 8)} ${title}\n`)
    .join('');
}

/** A body's columns in the telemetry: its values at a mission time (s), null where it does not fly. SI. */
export interface TelemetrySource {
  readonly id: string;
  readonly at: (mission_s: number) => { height_m: number; speed_mps: number } | null;
}

/** One line a frame: frame, film time, mission time, pace, and height and speed of each body; SI. */
export function telemetryCsv(
  track: CueTrack,
  rate: FrameRate,
  sources: readonly TelemetrySource[],
  comments: readonly string[],
): string {
  const head = ['frame', 'film_s', 'mission_s', 'pace'];
  for (const { id } of sources) head.push(`${id}_height_m`, `${id}_speed_mps`);
  const lines = [...comments.map((comment) => `# ${comment.replaceAll('\n', ' ')}`), head.join(',')];
  const frames = frameCount(track.length_s, rate);
  for (let frame = 0; frame < frames; frame++) {
    const { film_s, mission_s, pace } = filmState(track, frameTime_s(frame, rate));
    const cells = [String(frame), film_s.toFixed(6), mission_s.toFixed(6), pace.toFixed(4)];
    for (const { at } of sources) {
      const here = at(mission_s);
      cells.push(
        here === null ? '' : here.height_m.toFixed(2),
        here === null ? '' : here.speed_mps.toFixed(3),
      );
    }
    lines.push(cells.join(','));
  }
  return `${lines.join('\n')}\n`;
}

/** The cue sheet: a table for people, with film time, frame, mission time, plate and caption. */
export function cueSheetText(
  track: CueTrack,
  rate: FrameRate,
  title: string,
  notes: readonly string[],
): string {
  const rows = track.cues.map((cue, i) => {
    const pace = filmState(track, cue.at_s).pace;
    const frame = Math.round((cue.at_s * rate.numerator) / rate.denominator);
    const cells = [
      String(i + 1).padStart(3),
      stamp(cue.at_s, '.').slice(3),
      String(frame).padStart(6),
      formatTime(cue.mission_s, 1).padStart(8),
      `${pace.toFixed(1)}×`.padStart(6),
      cue.plate.padEnd(11),
      cue.caption,
    ];
    return cells.join('  ').trimEnd();
  });
  const head = ['cue', 'film     ', ' frame', ' mission', '  pace', 'plate      ', 'caption'].join('  ');
  return `${[title, `${rateName(rate)} frames/s, ${frameCount(track.length_s, rate)} frames`, ...notes, '', head, ...rows].join('\n')}\n`;
}
