/** The page that records a film for the command: it takes the host's job, does it, reports, and shows nothing. */
import { loadStudy } from '../../core/contract/load.ts';
import type { FilmJob, FilmReport } from '../../core/contract/filmChannels.ts';
import type { Film } from '../../core/contract/film.ts';
import { resolveCues } from '../../core/replay/film/cueTrack.ts';
import { connect, HostError, type Host } from '../bridge/host.ts';
import { ComputeClient, type WorkerLike } from '../compute/client.ts';
import { loadType } from './picture/picture.ts';
import { NoAnswer, prepareFilm } from './prepare.ts';
import { Recording } from './record/recorder.ts';
import '../app/base.css';

/** Between two reports at least so long, ms. */
const QUIET_ms = 500;

async function run(host: Host, job: FilmJob): Promise<FilmReport> {
  const loaded = loadStudy(job.study);
  if (!loaded.ok)
    return failed(
      'badFilm',
      loaded.problems.map((problem) => problem.sentence),
    );
  await loadType(document.fonts);
  const worker = new Worker(new URL('../compute/worker.ts', import.meta.url), { type: 'module' });
  const client = new ComputeClient(worker as unknown as WorkerLike);
  const { scene, film, cues } = await prepareFilm(loaded.study, client, job.length_s, (done, of) => {
    void host.request('film.report', { kind: 'solving', done, of });
  });
  worker.terminate();
  const chosen: Film = job.sheet === null ? film : { ...film, sheet: job.sheet };
  const result = job.sheet === null ? cues : resolveCues(chosen, scene.facts);
  if (!result.ok) return failed('badFilm', result.problems);
  let told_ms = 0;
  const sound =
    job.sound === null
      ? null
      : { name: job.sound.name, data: Uint8Array.from(atob(job.sound.data), (c) => c.charCodeAt(0)) };
  const options = { ...job, sound };
  const recording = new Recording(host, scene, result.track, options, {
    progress: (done, of, left_s) => {
      if (performance.now() - told_ms < QUIET_ms) return;
      told_ms = performance.now();
      void host.request('film.report', { kind: 'recording', done, of, left_s }).then(({ goOn }) => {
        if (!goOn) recording.stop('later');
      });
    },
    glimpse: (picture) => picture.close(),
  });
  const { frames, of, short, kept, later } = await recording.run(job.file.token);
  if (kept) return { kind: 'done', frames, sentence: short ?? '' };
  const words =
    later && frames > 0
      ? `It was called off after ${frames} of ${of} pictures; the same command goes on from there, and with --anew it begins again.`
      : 'It was called off; nothing of it was kept.';
  return failed('cannotRecord', [words]);
}

function failed(
  reason: Extract<FilmReport, { kind: 'failed' }>['reason'],
  sentences: readonly string[],
): FilmReport {
  return { kind: 'failed', reason, sentences: sentences.slice(0, 20).map((text) => text.slice(0, 2000)) };
}

async function main(): Promise<void> {
  const host = connect();
  const job = await host.request('film.job', {});
  if (job === null) {
    document.body.textContent = 'This page records films for the command; there is none to record.';
    return;
  }
  let report: FilmReport;
  try {
    report = await run(host, job);
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    const reason =
      error instanceof NoAnswer
        ? 'noAnswer'
        : error instanceof HostError && error.code === 'otherRecording'
          ? 'badFilm'
          : 'cannotRecord';
    report = failed(reason, [reason === 'badFilm' ? `${message.replace(/\.$/, '')} with --anew.` : message]);
  }
  await host.request('film.report', report);
}

// Without its host a page that nobody sees has nobody to tell, and nothing to stay for: its browser ends with it.
main().catch(() => window.close());
