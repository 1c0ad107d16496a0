/** The film's cues: in order of film time, and about events and bodies that there are. */
import { wordsIn } from '../../units/wordsIn.ts';
import type { Film } from '../film.ts';
import { didYouMean, makeProblem, oneOf, quote, type Problem } from '../problem.ts';
import type { Study } from '../study.ts';

/** What a flight finds by itself on its main track; what a freed piece's flight finds ends as below. */
const FOUND = ['liftoff', 'mach-1', 'max-q', 'insertion'];
const FOUND_ENDINGS = ['-apogee', '-max-q', '-impact'];

/** Problems with cues out of order, past the end, or about an event or a body that the study has not. Film time in s. */
export function checkFilm(study: Study): Problem[] {
  const { film } = study;
  if (film === undefined) return [];
  const problems: Problem[] = [];
  const events = [...study.sequence.events.map((event) => event.id), ...FOUND];
  const bodies = Object.keys(study.vehicle.bodies);
  const known = (path: string, name: string, names: readonly string[], what: string): void => {
    if (names.includes(name)) return;
    problems.push(makeProblem(path, quote(name), oneOf(names, what), didYouMean(name, names)));
  };
  const knownEvent = (path: string, name: string): void => {
    if (!FOUND_ENDINGS.some((ending) => name.endsWith(ending))) known(path, name, events, 'an event');
  };
  film.cues.forEach((cue, i) => {
    const path = `film.cues.${i}`;
    const before = film.cues[i - 1];
    if (before === undefined) {
      if (cue.at_s !== 0) problems.push(makeProblem(`${path}.at_s`, String(cue.at_s), '0 in the first cue'));
    } else if (cue.at_s < before.at_s || (cue.at_s === before.at_s && cue.arrive === 'run')) {
      const allowed = `more than the ${before.at_s} of the cue before, or as much in a cue that mission time jumps to`;
      problems.push(makeProblem(`${path}.at_s`, String(cue.at_s), allowed));
    }
    if (cue.moment.kind === 'event') knownEvent(`${path}.moment.event`, cue.moment.event);
    if (cue.camera?.follow !== undefined) known(`${path}.camera.follow`, cue.camera.follow, bodies, 'a body');
    if (cue.pointer?.kind === 'figure') known(`${path}.pointer.body`, cue.pointer.body, bodies, 'a body');
    if (cue.pointer?.kind === 'knot') knownEvent(`${path}.pointer.event`, cue.pointer.event);
  });
  problems.push(...checkNarration(film));
  const last = film.cues[film.cues.length - 1];
  if (last !== undefined && last.at_s >= film.length_s) {
    const allowed = `more than the ${last.at_s} of the last cue`;
    problems.push(makeProblem('film.length_s', String(film.length_s), allowed));
  }
  return problems;
}

/** Problems with cues at words that are not spoken, and with lined-up words out of order. */
function checkNarration({ cues, narration }: Film): Problem[] {
  const problems: Problem[] = [];
  const count = narration === undefined ? 0 : wordsIn(narration.text).length;
  const spoken = (path: string, word: number): void => {
    if (word < count) return;
    const allowed =
      count === 0 ? 'none, since nothing is narrated' : `0 to ${count - 1}, the words of the narration`;
    problems.push(makeProblem(path, String(word), allowed));
  };
  cues.forEach((cue, i) => {
    if (cue.word === undefined) return;
    if (i === 0)
      problems.push(
        makeProblem('film.cues.0.word', String(cue.word), 'none in the first cue, which stands at 0'),
      );
    else spoken(`film.cues.${i}.word`, cue.word);
  });
  narration?.lined.forEach(({ word, at_s }, i) => {
    const path = `film.narration.lined.${i}`;
    spoken(`${path}.word`, word);
    const before = narration.lined[i - 1];
    if (before !== undefined && word <= before.word)
      problems.push(makeProblem(`${path}.word`, String(word), `more than the ${before.word} before it`));
    const soonest_s = before?.at_s ?? (word > 0 ? narration.from_s : -1);
    if (at_s <= soonest_s)
      problems.push(
        makeProblem(`${path}.at_s`, String(at_s), `later than ${soonest_s}, where the words before it begin`),
      );
  });
  return problems;
}
