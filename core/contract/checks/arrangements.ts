/** Which bodies fly together from parting to parting, and whether each such arrangement has its drag. */
import { makeProblem, oneOf, type Problem } from '../problem.ts';
import type { Study } from '../study.ts';
import { carriedBy } from './bodies.ts';
import { checkName, checkRepeats } from './references.ts';

/** Bodies that fly together, in file order. */
type Piece = readonly string[];

/** Undoes one link: the piece that holds it falls into what rides on the link and what stays below. */
function undo(study: Study, pieces: readonly Piece[], link: string): Piece[] {
  const riding = carriedBy(study.vehicle, link);
  return pieces.flatMap((piece) => {
    if (!piece.includes(link)) return [piece];
    const above = piece.filter((id) => riding.includes(id));
    const below = piece.filter((id) => !riding.includes(id));
    return below.length === 0 ? [piece] : [above, below];
  });
}

/** The pieces before event `end` of the list, after all partings that stand before it. */
function piecesBefore(study: Study, end: number): Piece[] {
  const links = study.sequence.events
    .slice(0, end)
    .flatMap(({ action }) => (action.kind === 'part' ? [action.link] : []));
  return links.reduce<Piece[]>(
    (pieces, link) => undo(study, pieces, link),
    [Object.keys(study.vehicle.bodies)],
  );
}

/** Bodies that still fly with the payload when the partings before event `end` (an index) are done; trees only. */
export function mainPieceBefore(study: Study, end: number): Piece {
  return piecesBefore(study, end).find((piece) => piece.includes(study.payload.ridesOn)) ?? [];
}

/** Every arrangement that occurs, from the full stack on, partings taken in list order; each once. */
function arrangementsOf(study: Study): Piece[] {
  const all = study.sequence.events.flatMap(({ action }, i) =>
    action.kind === 'part' ? piecesBefore(study, i + 1) : [],
  );
  const unique = new Map([...piecesBefore(study, 0), ...all].map((piece) => [keyOf(piece), piece]));
  return [...unique.values()];
}

function keyOf(bodies: Piece): string {
  return [...bodies].sort().join(' ');
}

/**
 * Problems with the arrangements of bodies that the sequence's partings, in list order, bring about: one without an
 * entry in `vehicle.aerodynamics` (freed pieces count too), an entry of an unknown body or of a body twice, two
 * entries for the same bodies, and a piece that weighs nothing when its tanks are empty. Masses in kg.
 */
export function checkArrangements(study: Study): Problem[] {
  const { bodies, aerodynamics } = study.vehicle;
  const ids = Object.keys(bodies);
  const given = aerodynamics.map((entry) => keyOf(entry.bodies));
  return [
    ...aerodynamics.flatMap((entry, i) => {
      const at = (k: number): string => `vehicle.aerodynamics.${i}.bodies.${k}`;
      return [
        ...entry.bodies.flatMap((id, k) => checkName(at(k), id, ids, 'a body')),
        ...checkRepeats(entry.bodies, at),
      ];
    }),
    ...given.flatMap((key, i) => {
      if (given.indexOf(key) === i) return [];
      const received = `the same bodies as in vehicle.aerodynamics.${given.indexOf(key)}`;
      return [makeProblem(`vehicle.aerodynamics.${i}.bodies`, received, 'one entry for each arrangement')];
    }),
    ...arrangementsOf(study).flatMap((piece) => {
      if (given.includes(keyOf(piece))) return [];
      const received = `no entry for the arrangement ${piece.join(' + ')}`;
      const allowed = 'one entry for each arrangement that the partings bring about';
      return [makeProblem('vehicle.aerodynamics', received, allowed)];
    }),
    ...arrangementsOf(study).flatMap((piece) => checkWeight(study, piece)),
  ];
}

function checkWeight(study: Study, piece: Piece): Problem[] {
  const { bodies } = study.vehicle;
  const empty_kg = piece
    .map((id) => bodies[id]!)
    .reduce(
      (sum, body) =>
        sum +
        body.dryMass_kg +
        Object.values(body.fittings).reduce((part, fitting) => part + fitting.mass_kg, 0),
      0,
    );
  if (empty_kg > 0) return [];
  const paths = piece.map((id) => `vehicle.bodies.${id}.dryMass_kg`);
  const allowed = `a number above 0 in ${oneOf(piece, 'a body')}, since the piece flies by itself`;
  return [makeProblem(paths[0]!, '0', allowed)];
}
