/** From a study to what a film draws: solved flights, the second gap, the curve, and cues tied to all of them. */
import type { Film } from '../../core/contract/film.ts';
import type { Study } from '../../core/contract/study.ts';
import { compileStudy } from '../../core/flight/compile.ts';
import { resolveCues, type CueTrackResult } from '../../core/replay/film/cueTrack.ts';
import { filmStaging } from '../../core/replay/film/staging.ts';
import type { Homecoming } from '../../core/replay/film/homeStory.ts';
import { tellStory } from '../../core/replay/film/story.ts';
import type { LandingScene } from '../../core/replay/landingScene.ts';
import type { FlightData } from '../../core/replay/flightData.ts';
import { asAnswered } from '../../core/solve/answer.ts';
import { gapEvent, gapOf_s, hasGap, otherGap_s, withGap } from '../../core/study/gap.ts';
import type { SweepResult } from '../../core/study/sweep.ts';
import type { ComputeClient, Settled } from '../compute/client.ts';
import type { SolveReply } from '../compute/protocol.ts';
import { answerSentence, solvedPoints } from '../question/sentences.ts';
import { sweepGaps_s, type Answer } from '../state/results.svelte.ts';
import { makeScene, type FilmScene, type SolvedFlight } from './picture/scene.ts';

/** What a study has no answer to. The message is a sentence for people. */
export class NoAnswer extends Error {}

export interface Prepared {
  readonly scene: FilmScene;
  readonly film: Film;
  readonly cues: CueTrackResult;
}

/** Solves all that the study's film needs, or its new film if it has none, of this length (s). Throws NoAnswer. */
export async function prepareFilm(
  study: Study,
  client: ComputeClient,
  length_s: number,
  onProgress: (done: number, of: number) => void = () => undefined,
  known: { readonly main?: SolvedFlight; readonly sweep?: SweepResult | null } = {},
): Promise<Prepared> {
  const main = known.main ?? (await solveFlight(study, client));
  if (!hasGap(study)) return finish(study, { main, compare: null, sweep: null }, length_s);
  const event = gapEvent(study);
  const other_s = study.film === undefined ? otherGap_s(gapOf_s(study, event)) : study.film.compareGap_s;
  const compare = other_s === undefined ? null : await solveFlight(withGap(study, event, other_s), client);
  const wanted =
    study.film === undefined ||
    study.film.cues.some(
      ({ plate, caption }) =>
        plate === 'chart' || plate === 'answer' || caption?.includes('{perSecond}') === true,
    );
  const sweep = wanted ? (known.sweep ?? (await sweepOf(study, event, client, onProgress))) : null;
  return finish(study, { main, compare, sweep }, length_s);
}

/** Puts a film together from what is solved. Length in s, for a film that is told by itself. */
function finish(
  study: Study,
  solved: { main: SolvedFlight; compare: SolvedFlight | null; sweep: SweepResult | null },
  length_s: number,
): Prepared {
  const { main, compare, sweep } = solved;
  const curve =
    sweep === null ? [] : solvedPoints(sweep).map(({ gap_s, payload_kg }) => ({ gap_s, payload_kg }));
  const answer = sweep === null ? '' : answerSentence(sweep);
  // The film is words about the study: what is drawn carries the hash of the study without it.
  const { film: own, ...plain } = study;
  const scene = makeScene({ main: { ...main, study: plain }, compare, curve, answer });
  const film =
    own ??
    tellStory(study, main.flight.log, {
      length_s,
      compareGap_s: compare === null ? null : (scene.compare?.gap?.gap_s ?? null),
      sweep: curve.length > 1,
      notes: scene.facts.notes,
      homes: homecomings(main, scene.main.landing),
    });
  return { scene, film, cues: resolveCues(film, scene.facts) };
}

/** The flights home that were solved with an answer. */
function homecomings({ study, compiled, flight }: SolvedFlight, landing: LandingScene | null): Homecoming[] {
  return flight.tracks.flatMap(({ id, home }) => {
    const plan = home === undefined ? undefined : study.returns?.plans[home.plan];
    if (plan === undefined) return [];
    const name = compiled.bodies.find((body) => body.id === plan.body)?.data.name ?? plan.body;
    return [
      {
        track: id,
        body: plan.body,
        name,
        toSite: plan.place.kind === 'launchSite',
        close: landing?.home.plan === home?.plan,
      },
    ];
  });
}

/** A study's answer with all that is drawn of it. Throws NoAnswer. */
export async function solveFlight(study: Study, client: ComputeClient): Promise<SolvedFlight> {
  const { outcome, flight, settling, kept }: SolveReply = taken(await client.call('solve', { study }));
  if (outcome.status !== 'converged' || flight === null) throw new NoAnswer(outcome.message);
  const flown = asAnswered(study, kept);
  return {
    ...{ study, compiled: compileStudy(flown), flight, payload_kg: outcome.payload_kg, settling },
    closeUps: await closeUpsOf(flown, flight, client),
  };
}

/** The window's answer to a study as a solved flight, with its parting from close by. */
export async function solvedOf(study: Study, answer: Answer, client: ComputeClient): Promise<SolvedFlight> {
  const { compiled, flight, payload_kg, flown, reply } = answer;
  const closeUps = await closeUpsOf(flown, flight, client);
  return { study, compiled, flight, payload_kg, settling: reply.settling, closeUps };
}

/** Views of the parting in a solved flight of a study as it is flown; null where the study says too little for them. */
async function closeUpsOf(
  study: Study,
  flight: FlightData,
  client: ComputeClient,
): Promise<SolvedFlight['closeUps']> {
  const link = filmStaging(study, flight.log)?.link;
  if (link === undefined) return null;
  return taken(await client.call('closeUps', { study, values: flight.values, link })).views;
}

async function sweepOf(
  study: Study,
  event: string,
  client: ComputeClient,
  onProgress: (done: number, of: number) => void,
): Promise<SweepResult> {
  const request = {
    study,
    gaps_s: sweepGaps_s(study, event),
    modes: ['reoptimised'] as const,
    reference_s: 0,
  };
  const sweep = taken(await client.call('sweep', request, onProgress));
  if (sweep.reference.outcome.status !== 'converged') throw new NoAnswer(sweep.reference.outcome.message);
  return sweep;
}

function taken<R>(settled: Settled<R>): R {
  if (settled.kind === 'reply') return settled.reply;
  throw new NoAnswer(settled.kind === 'failed' ? settled.message : 'It was called off.');
}
