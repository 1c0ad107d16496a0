/** Flights home: of which bodies, with which engines, and which of them are chosen. */
import { makeProblem, quote, type Problem } from '../problem.ts';
import type { ReturnEngines, ReturnPlan, Returns } from '../returns.ts';
import type { Study } from '../study.ts';
import { checkName, checkRepeats } from './references.ts';

/**
 * Problems with returns: unknown bodies and groups, bodies without a return reserve, more engines than a group has,
 * throttles outside a group's range (fractions of vacuum thrust), a place to land without a boostback to get there, a
 * chosen plan that does not exist, two chosen plans of one body.
 */
export function checkReturns(study: Study): Problem[] {
  const { returns } = study;
  if (returns === undefined) return [];
  const plans = Object.entries(returns.plans);
  return [
    ...plans.flatMap(([id, plan]) => checkPlan(study, plan, `returns.plans.${id}`)),
    ...checkChosen(returns),
    ...checkAllowances(study, returns),
  ];
}

function checkChosen({ chosen, plans }: Returns): Problem[] {
  const known = Object.keys(plans);
  const at = (i: number): string => `returns.chosen.${i}`;
  const problems = [
    ...chosen.flatMap((id, i) => checkName(at(i), id, known, 'a plan of a return')),
    ...checkRepeats(chosen, at),
  ];
  if (problems.length > 0) return problems;
  return chosen.flatMap((id, i) => {
    const other = chosen.slice(0, i).find((before) => plans[before]!.body === plans[id]!.body);
    if (other === undefined) return [];
    const received = `${quote(id)}, a return of ${quote(plans[id]!.body)} as is ${quote(other)}`;
    return [makeProblem(at(i), received, 'one plan a body')];
  });
}

/** Bodies that keep something for their return. */
function returning(study: Study): string[] {
  const { bodies } = study.vehicle;
  return Object.keys(bodies).filter((id) => (bodies[id]!.propellant?.returnReserve_kg ?? 0) > 0);
}

function checkPlan(study: Study, plan: ReturnPlan, at: string): Problem[] {
  const { body, turn, boostback, entry, landing } = plan;
  const unknown = checkName(`${at}.body`, body, returning(study), 'a body with a return reserve');
  if (unknown.length > 0) return unknown;
  const problems: Problem[] = [];
  const burn = (engines: ReturnEngines, key: string, throttle?: number): void => {
    problems.push(...checkEngines(study, body, engines, `${at}.${key}.engines`, throttle, `${at}.${key}`));
  };
  if (turn.burn !== undefined) burn(turn.burn.engines, 'turn.burn', turn.burn.throttle);
  if (boostback !== undefined) burn(boostback.engines, 'boostback', boostback.throttle);
  if (entry !== undefined) burn(entry.engines, 'entry', entry.throttle);
  burn(landing.engines, 'landing');
  if (plan.place.kind !== 'downrange' && boostback === undefined) {
    const allowed = 'a burn with the key engines, since nothing else brings the body to a chosen place';
    problems.push(makeProblem(`${at}.boostback`, 'nothing', allowed));
  }
  if (entry?.start.kind === 'altitude' && entry.end.kind === 'altitude') {
    if (entry.end.height_m >= entry.start.height_m) {
      const allowed = `a height below that of the start, ${entry.start.height_m}`;
      problems.push(makeProblem(`${at}.entry.end.height_m`, String(entry.end.height_m), allowed));
    }
  }
  return problems;
}

function checkEngines(
  study: Study,
  body: string,
  engines: ReturnEngines,
  at: string,
  throttle: number | undefined,
  burnAt: string,
): Problem[] {
  const groups = study.vehicle.bodies[body]!.engineGroups;
  const names = engines.map((entry) => entry.group);
  const problems = checkRepeats(names, (i) => `${at}.${i}.group`);
  engines.forEach((entry, i) => {
    const unknown = checkName(
      `${at}.${i}.group`,
      entry.group,
      Object.keys(groups),
      `an engine group of ${quote(body)}`,
    );
    problems.push(...unknown);
    const group = groups[entry.group];
    if (unknown.length > 0 || group === undefined) return;
    if (entry.engines !== undefined && entry.engines > group.count) {
      const allowed = `a whole number from 1 to ${group.count}, the engines of ${quote(entry.group)}`;
      problems.push(makeProblem(`${at}.${i}.engines`, String(entry.engines), allowed));
    }
    const { least, most } = group.throttle;
    if (throttle !== undefined && (throttle < least || throttle > most)) {
      const allowed =
        least === most
          ? String(most)
          : `a number from ${least} to ${most}, the range of ${quote(entry.group)}`;
      problems.push(makeProblem(`${burnAt}.throttle`, String(throttle), allowed));
    }
  });
  return problems;
}

function checkAllowances(study: Study, { allowances }: Returns): Problem[] {
  return Object.entries(allowances).flatMap(([body, allowance]) => {
    const at = `returns.allowances.${body}`;
    const unknown = checkName(at, body, returning(study), 'a body with a return reserve');
    if (unknown.length > 0) return unknown;
    const groups = Object.keys(study.vehicle.bodies[body]!.engineGroups);
    const what = `an engine group of ${quote(body)}`;
    return [
      ...checkName(`${at}.deorbitGroup`, allowance.deorbitGroup, groups, what),
      ...checkName(`${at}.landingGroup`, allowance.landingGroup, groups, what),
    ];
  });
}
