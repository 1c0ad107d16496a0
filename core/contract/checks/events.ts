/** Events as a list: their ids, the one release, and the cut-off that ends the ascent. */
import { makeProblem, oneOf, quote, type Problem } from '../problem.ts';
import type { Study } from '../study.ts';
import { isTree } from './bodies.ts';
import { mainPieceBefore } from './arrangements.ts';
import { checkName, checkRepeats, inEvent } from './references.ts';

/** Ids of the events whose action is a cut, in list order. */
export function cutIds(study: Study): string[] {
  return study.sequence.events.filter((event) => event.action.kind === 'cut').map((event) => event.id);
}

/** Problems with ids that stand twice, with none or several releases, and with the final cut-off. Unitless. */
export function checkEvents(study: Study): Problem[] {
  const ids = study.sequence.events.map((event) => event.id);
  return [
    ...checkRepeats(ids, (i) => inEvent(study, i, 'id')),
    ...checkRelease(study),
    ...checkFinalCutoff(study),
  ];
}

function checkRelease(study: Study): Problem[] {
  const { events } = study.sequence;
  const first = events.findIndex((event) => event.action.kind === 'release');
  if (first < 0) {
    const received = 'no event whose action is "release"';
    return [makeProblem('sequence.events', received, 'exactly one, since it lets the vehicle go')];
  }
  return events.flatMap((event, i) =>
    i > first && event.action.kind === 'release'
      ? [
          makeProblem(
            inEvent(study, i, 'action', 'kind'),
            '"release" a second time',
            'one release in a sequence',
          ),
        ]
      : [],
  );
}

function checkFinalCutoff(study: Study): Problem[] {
  const { events, finalCutoff } = study.sequence;
  const path = 'sequence.finalCutoff';
  const unknown = checkName(path, finalCutoff, cutIds(study), 'a cut event');
  if (unknown.length > 0) return unknown;
  const index = events.findIndex((event) => event.id === finalCutoff);
  const action = events[index]!.action;
  if (action.kind !== 'cut') return [];
  if (action.keep > 0) {
    return [
      makeProblem(inEvent(study, index, 'action', 'keep'), String(action.keep), '0 in the final cut-off'),
    ];
  }
  if (!isTree(study.vehicle) || !Object.hasOwn(study.vehicle.bodies, study.payload.ridesOn)) return [];
  const piece = mainPieceBefore(study, index);
  if (piece.includes(action.body)) return [];
  const fitting = events
    .filter(
      (event, i) => event.action.kind === 'cut' && mainPieceBefore(study, i).includes(event.action.body),
    )
    .map((event) => event.id);
  const received = `${quote(finalCutoff)}, which cuts ${quote(action.body)} after it has parted from the payload`;
  return [makeProblem(path, received, oneOf(fitting, 'a cut of the body that carries the payload'))];
}
