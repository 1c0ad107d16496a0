/** What stands beside a film for those who cut it. */
import type { CueTrack } from '../../../core/replay/film/cueTrack.ts';
import type { FrameRate } from '../../../core/replay/film/rate.ts';
import {
  chaptersText,
  cueSheetText,
  srtText,
  telemetryCsv,
  vttText,
  type TelemetrySource,
} from '../../../core/replay/film/sidecars.ts';
import type { Host } from '../../bridge/host.ts';
import { readerAt } from '../picture/mapPlate.ts';
import type { FilmScene } from '../picture/scene.ts';

/** Writes captions, chapters, telemetry and the cue sheet beside what a sink writes. */
export async function writeBeside(
  host: Host,
  sink: string,
  scene: FilmScene,
  track: CueTrack,
  rate: FrameRate,
): Promise<void> {
  const notes = [scene.caution, `Study ${scene.hash}`];
  const sources = scene.main.set.strands
    .filter((strand) => strand.colour !== 'plain')
    .map(({ id, track: own, end_s }): TelemetrySource => ({
      id,
      at: (mission_s) => {
        const reader = readerAt(scene.main, own, mission_s);
        if (reader === undefined || mission_s < reader.track.start_s || mission_s > end_s + 1e-9) return null;
        const { height_m, speedRelative_mps } = reader.at(mission_s);
        return { height_m, speed_mps: speedRelative_mps };
      },
    }));
  const texts: [string, string][] = [
    ['srt', srtText(track)],
    ['vtt', vttText(track, notes)],
    ['chapters.txt', chaptersText(track)],
    ['telemetry.csv', telemetryCsv(track, rate, sources, notes)],
    ['cues.txt', cueSheetText(track, rate, scene.title, notes)],
  ];
  for (const [ending, text] of texts) await host.request('film.beside', { sink, ending, text });
}
