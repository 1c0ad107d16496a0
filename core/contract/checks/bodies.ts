/** What rides on what: one tree of bodies, and a payload on one of them. */
import { makeProblem, oneOf, quote, type Problem } from '../problem.ts';
import type { Study } from '../study.ts';
import type { Vehicle } from '../vehicle.ts';
import { checkName } from './references.ts';

/** Bodies that ride on nothing. */
function rootsOf(vehicle: Vehicle): string[] {
  return Object.keys(vehicle.bodies).filter((id) => vehicle.bodies[id]!.ridesOn === undefined);
}

/** The bodies met on the way down from one body, itself first, until the way ends or comes back. */
function wayDown(
  vehicle: Vehicle,
  from: string,
): { way: string[]; end: 'root' | 'unknown' | 'loop'; next: string } {
  const way: string[] = [];
  let next: string | undefined = from;
  let last = from;
  while (next !== undefined) {
    if (way.includes(next)) return { way, end: 'loop', next };
    if (!Object.hasOwn(vehicle.bodies, next)) return { way, end: 'unknown', next };
    way.push(next);
    last = next;
    next = vehicle.bodies[next]!.ridesOn;
  }
  return { way, end: 'root', next: last };
}

/** Whether every body rides, directly or not, on the one that rides on nothing. */
export function isTree(vehicle: Vehicle): boolean {
  return (
    rootsOf(vehicle).length === 1 &&
    Object.keys(vehicle.bodies).every((id) => wayDown(vehicle, id).end === 'root')
  );
}

/** Names of the bodies that ride on a body, directly or not, itself among them, in file order. For trees only. */
export function carriedBy(vehicle: Vehicle, id: string): string[] {
  return Object.keys(vehicle.bodies).filter((each) => wayDown(vehicle, each).way.includes(id));
}

/**
 * Problems with bodies: carriers that do not exist, bodies that ride on themselves by way of others, none or several
 * that ride on nothing, engines without propellant, a payload on a body that does not exist. Masses in kg.
 */
export function checkBodies(study: Study): Problem[] {
  const { vehicle, payload } = study;
  const ids = Object.keys(vehicle.bodies);
  if (ids.length === 0) return [makeProblem('vehicle.bodies', 'no bodies', 'at least one body')];
  return [
    ...ids.flatMap((id) => checkCarrier(vehicle, id)),
    ...checkLoops(vehicle),
    ...rootsOf(vehicle)
      .slice(1)
      .map((id) => secondRoot(vehicle, id)),
    ...ids.flatMap((id) => checkPropellant(vehicle, id)),
    ...checkName('payload.ridesOn', payload.ridesOn, ids, 'a body'),
  ];
}

function checkCarrier(vehicle: Vehicle, id: string): Problem[] {
  const carrier = vehicle.bodies[id]!.ridesOn;
  if (carrier === undefined) return [];
  const others = Object.keys(vehicle.bodies).filter((other) => other !== id);
  const path = `vehicle.bodies.${id}.ridesOn`;
  // A body on itself is a loop, told as such below.
  return carrier === id ? [] : checkName(path, carrier, others, 'a body');
}

function checkLoops(vehicle: Vehicle): Problem[] {
  const told = new Set<string>();
  return Object.keys(vehicle.bodies).flatMap((id) => {
    const { way, end, next } = wayDown(vehicle, id);
    if (end !== 'loop' || told.has(next)) return [];
    const loop = way.slice(way.indexOf(next));
    for (const each of loop) told.add(each);
    const received = `the circle ${[...loop, next].join(' on ')}`;
    return [
      makeProblem(
        `vehicle.bodies.${next}.ridesOn`,
        received,
        'a way down that ends at a body without ridesOn',
      ),
    ];
  });
}

function secondRoot(vehicle: Vehicle, id: string): Problem {
  const others = Object.keys(vehicle.bodies).filter((other) => other !== id);
  const received = `nothing, as in ${quote(rootsOf(vehicle)[0]!)}, which is already the lowest body`;
  return makeProblem(`vehicle.bodies.${id}.ridesOn`, received, oneOf(others, 'nothing'));
}

function checkPropellant(vehicle: Vehicle, id: string): Problem[] {
  const body = vehicle.bodies[id]!;
  const groups = Object.keys(body.engineGroups);
  if (groups.length === 0 || body.propellant !== undefined) return [];
  const received = `nothing, although the body has the engine groups ${groups.join(', ')}`;
  return [makeProblem(`vehicle.bodies.${id}.propellant`, received, 'an object with the key usable_kg')];
}
