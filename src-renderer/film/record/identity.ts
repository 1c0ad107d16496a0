/** All that decides the bytes of a recording, in words; and what draws it. */
import { documentHash } from '../../../core/contract/contentHash.ts';
import type { FilmIdentity } from '../../../core/contract/filmChannels.ts';
import type { CueTrack } from '../../../core/replay/film/cueTrack.ts';
import { rateName } from '../../../core/replay/film/rate.ts';
import type { Host } from '../../bridge/host.ts';
import type { FilmScene } from '../picture/scene.ts';
import type { RecordOptions } from './settings.ts';

/** Names are written into a sentence: "was recorded with another …". */
export async function identityOf(
  scene: FilmScene,
  track: CueTrack,
  options: RecordOptions,
  coding: string,
  renderer: string,
): Promise<FilmIdentity> {
  const { width_px, height_px, rate, format, frameCode, sound } = options;
  const { main, compare } = scene.parts;
  const flights = [main, compare].map((each) => (each === null ? null : [...each.flight.values]));
  return {
    study: short(scene.hash),
    'set of cues': short(documentHash(track.film)),
    // The same study may have been solved by another engine, or on another way.
    solution: short(documentHash([...flights, scene.curve.map(({ payload_kg }) => payload_kg)])),
    size: `${width_px}×${height_px}`,
    'number of pictures a second': rateName(rate),
    format: `${format}${coding}${frameCode ? ', with frame codes' : ''}`,
    sound: sound === null ? 'none' : `${sound.name} ${await sumOf(sound.data)}`,
    'program or browser': renderer,
  };
}

const short = (hash: string): string => hash.slice(0, 16);

async function sumOf(data: Uint8Array): Promise<string> {
  const sum = new Uint8Array(await crypto.subtle.digest('SHA-256', Uint8Array.from(data)));
  return [...sum.subarray(0, 8)].map((byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** What draws a film: program and browser build, for whoever compares files. */
export async function rendererOf(host: Host): Promise<string> {
  const { version } = await host.request('app.info', {});
  const build = (
    navigator as {
      userAgentData?: {
        getHighEntropyValues(
          hints: string[],
        ): Promise<{ fullVersionList?: { brand: string; version: string }[] }>;
      };
    }
  ).userAgentData;
  const full = await build?.getHighEntropyValues(['fullVersionList']);
  const names = full?.fullVersionList
    ?.filter(({ brand }) => !/not/i.test(brand))
    .map((b) => `${b.brand} ${b.version}`);
  const browser = names === undefined || names.length === 0 ? navigator.userAgent : names.join(', ');
  return `Plumeline ${version}, drawn in memory by the 2D canvas of ${browser}.`;
}
