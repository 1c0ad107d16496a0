/** Whether the parts of a study, each valid by itself, fit each other. */
import { checkActions } from './checks/actions.ts';
import { checkArrangements } from './checks/arrangements.ts';
import { checkBodies, isTree } from './checks/bodies.ts';
import { checkClaims } from './checks/claims.ts';
import { checkEvents } from './checks/events.ts';
import { checkLinks } from './checks/links.ts';
import { checkFilm } from './checks/film.ts';
import { checkProvenance } from './checks/provenance.ts';
import { checkTanks } from './checks/tanks.ts';
import { checkLimits } from './checks/limits.ts';
import { checkTarget } from './checks/target.ts';
import { checkReturns } from './checks/returns.ts';
import { checkTriggers } from './checks/triggers.ts';
import type { Problem } from './problem.ts';
import type { Study } from './study.ts';

/**
 * All the places where the parts of a study contradict each other or refer to what is not there; an empty list when
 * there are none. Whether the vehicle can fly as told is for the flight to find out. Masses in kg, times in s.
 */
export function crossCheck(study: Study): Problem[] {
  return [
    ...checkBodies(study),
    ...checkTanks(study),
    ...checkLinks(study),
    ...checkTarget(study),
    ...checkLimits(study),
    ...checkEvents(study),
    ...checkTriggers(study),
    ...checkActions(study),
    // What a parting leaves can only be worked out when it is known what rides on what.
    ...(isTree(study.vehicle) ? checkArrangements(study) : []),
    ...checkReturns(study),
    ...checkClaims(study),
    ...checkProvenance(study),
    ...checkFilm(study),
  ];
}
