/** Target and Earth: what the one must say for the other numbers to have a meaning. */
import { makeProblem, type Problem } from '../problem.ts';
import type { Study } from '../study.ts';

/** Below this an orbit has no perigee to speak of, m of difference between its apsides. */
const ROUND_m = 1000;

/**
 * Problems with the target: what does not count beside an apogee alone; angles of a node or perigee that the orbit does not have, insertion anywhere on a circle; a goal that nothing can
 * serve;
 * with constants of the Earth beside the WGS 84 ellipsoid. Heights in m, angles in degrees.
 */
export function checkTarget({ target, earth, goal, sequence }: Study): Problem[] {
  const problems: Problem[] = [];
  const { inclination_deg } = target;
  const tilted = inclination_deg !== undefined && inclination_deg > 0 && inclination_deg < 180;
  for (const key of ['ascendingNode_deg', 'argumentOfPerigee_deg'] as const) {
    if (target[key] === undefined || tilted) continue;
    const allowed =
      'left out, unless target.inclination_deg lies between 0 and 180 and so gives the orbit a node';
    problems.push(makeProblem(`target.${key}`, String(target[key]), allowed));
  }
  if (target.kind === 'apogee') {
    for (const key of [
      'inclination_deg',
      'ascendingNode_deg',
      'argumentOfPerigee_deg',
      'insertion',
    ] as const) {
      if (target[key] === undefined) continue;
      problems.push(
        makeProblem(`target.${key}`, String(target[key]), 'left out where the apogee alone counts'),
      );
    }
    if (target.perigee_m !== 0)
      problems.push(
        makeProblem('target.perigee_m', String(target.perigee_m), '0 where the apogee alone counts'),
      );
  }
  const round = target.apogee_m - target.perigee_m < ROUND_m;
  if (round && target.argumentOfPerigee_deg !== undefined) {
    const allowed = `left out, unless the apogee is at least ${ROUND_m} m above the perigee`;
    problems.push(makeProblem('target.argumentOfPerigee_deg', String(target.argumentOfPerigee_deg), allowed));
  }
  if (round && target.insertion === 'anywhere') {
    const allowed = `"perigee", unless the apogee is at least ${ROUND_m} m above the perigee`;
    problems.push(makeProblem('target.insertion', '"anywhere"', allowed));
  }
  const timed = sequence.events.some(({ trigger }) => trigger.kind === 'time' && trigger.free !== undefined);
  if (goal !== undefined && goal !== 'mostPayload' && !timed) {
    const allowed = '"mostPayload", unless an event\'s "time" trigger is free, by which mass could be saved';
    problems.push(makeProblem('goal', `"${goal}"`, allowed));
  }
  if (earth.constants !== undefined && earth.figure === 'ellipsoid') {
    const allowed = 'left out on the ellipsoid, which is that of WGS 84; or earth.figure "sphere"';
    problems.push(makeProblem('earth.constants', 'constants of its own', allowed));
  }
  return problems;
}
