/** What events do: to which bodies, groups, engines and links, and within which limits. */
import { makeProblem, oneOf, quote, type Problem } from '../problem.ts';
import type { Action, SteeringLaw } from '../sequence.ts';
import type { Study } from '../study.ts';
import type { EngineGroup } from '../vehicle.ts';
import { checkName, checkRepeats, inEvent } from './references.ts';

/** Beyond this a polynomial through given values swings between them (Runge's phenomenon). */
const MOST_POLYNOMIAL_NODES = 9;

type Of<Kind extends Action['kind']> = Extract<Action, { kind: Kind }>;
type At = (...steps: (string | number)[]) => string;

/**
 * Problems with actions: unknown bodies, groups and links, more engines than a group has, throttles outside a group's
 * range (fractions of vacuum thrust), engines cut, throttled, limited or shifted that nothing lights, the end of what is
 * no hold, a link undone twice.
 */
export function checkActions(study: Study): Problem[] {
  return study.sequence.events.flatMap(({ action }, index) => {
    const at: At = (...steps) => inEvent(study, index, 'action', ...steps);
    switch (action.kind) {
      case 'light':
        return checkLight(study, action, at);
      case 'cut':
        return checkCut(study, action, at);
      case 'throttle':
        return checkThrottle(study, action, at);
      case 'shift': {
        const group = findGroup(study, action.body, action.group, at);
        return Array.isArray(group) ? group : checkLit(study, action.body, [action.group], at);
      }
      case 'hold':
        return checkHold(study, action, at);
      case 'endHold': {
        const { events } = study.sequence;
        const holds = events.filter((event) => event.action.kind === 'hold').map((event) => event.id);
        return checkName(at('hold'), action.hold, holds, 'an event that holds a limit');
      }
      case 'part':
        return checkPart(study, action, index, at);
      case 'steer':
        return checkLaw(action.law, (...steps) => at('law', ...steps));
      case 'release':
        return [];
    }
  });
}

/** A group of a body with engines, or the problem that there is no such body or group. */
function findGroup(study: Study, body: string, group: string, at: At): EngineGroup | Problem[] {
  const problems = checkPowered(study, body, at);
  if (problems.length > 0) return problems;
  const groups = study.vehicle.bodies[body]!.engineGroups;
  const unknown = checkName(at('group'), group, Object.keys(groups), `an engine group of ${quote(body)}`);
  return unknown.length > 0 ? unknown : groups[group]!;
}

function checkPowered(study: Study, body: string, at: At): Problem[] {
  const { bodies } = study.vehicle;
  const powered = Object.keys(bodies).filter((id) => Object.keys(bodies[id]!.engineGroups).length > 0);
  return checkName(at('body'), body, powered, 'a body with engines');
}

function checkLight(study: Study, action: Of<'light'>, at: At): Problem[] {
  const group = findGroup(study, action.body, action.group, at);
  if (Array.isArray(group)) return group;
  const problems = checkRange(action.throttle, group, action.group, at('throttle'));
  if (action.engines !== undefined && action.engines > group.count) {
    const allowed = `a whole number from 1 to ${group.count}, the engines of ${quote(action.group)}`;
    problems.push(makeProblem(at('engines'), String(action.engines), allowed));
  }
  const usable_kg = study.vehicle.bodies[action.body]!.propellant?.usable_kg;
  if (usable_kg === 0) {
    const allowed = `a number above 0, since ${at()} lights its engines`;
    problems.push(makeProblem(`vehicle.bodies.${action.body}.propellant.usable_kg`, '0', allowed));
  }
  return problems;
}

function checkRange(level: number, group: EngineGroup, name: string, path: string): Problem[] {
  const { least, most } = group.throttle;
  if (level >= least && level <= most) return [];
  const allowed =
    least === most ? `${least}, the only throttle` : `a number from ${least} to ${most}, the range`;
  return [makeProblem(path, String(level), `${allowed} of ${quote(name)}`)];
}

function checkCut(study: Study, action: Of<'cut'>, at: At): Problem[] {
  const powered = checkPowered(study, action.body, at);
  if (powered.length > 0) return powered;
  const groups = study.vehicle.bodies[action.body]!.engineGroups;
  if (action.group !== undefined) {
    const group = findGroup(study, action.body, action.group, at);
    if (Array.isArray(group)) return group;
  }
  const named = Object.keys(groups).filter((id) => action.group === undefined || action.group === id);
  const engines = named.reduce((sum, id) => sum + groups[id]!.count, 0);
  const problems = checkLit(study, action.body, named, at);
  if (action.keep >= engines) {
    const allowed = `a whole number from 0 to ${engines - 1}, since ${named.join(' and ')} has ${engines}`;
    problems.push(makeProblem(at('keep'), String(action.keep), allowed));
  }
  return problems;
}

function checkThrottle(study: Study, action: Of<'throttle'>, at: At): Problem[] {
  const group = findGroup(study, action.body, action.group, at);
  if (Array.isArray(group)) return group;
  return [
    ...checkRange(action.level, group, action.group, at('level')),
    ...checkLit(study, action.body, [action.group], at),
  ];
}

function checkHold(study: Study, action: Of<'hold'>, at: At): Problem[] {
  const powered = checkPowered(study, action.body, at);
  if (powered.length > 0) return powered;
  const groups = Object.keys(study.vehicle.bodies[action.body]!.engineGroups);
  const named = action.groups ?? groups;
  const place = `an engine group of ${quote(action.body)}`;
  const unknown = named.flatMap((group, k) => checkName(at('groups', k), group, groups, place));
  if (unknown.length > 0) return unknown;
  if (action.limit.kind === 'dynamicPressure' && study.earth.atmosphere.kind === 'none') {
    const received = '"dynamicPressure" where earth.atmosphere is "none"';
    return [makeProblem(at('limit', 'kind'), received, 'a limit that needs no air')];
  }
  return [...checkRepeats(named, (k) => at('groups', k)), ...checkLit(study, action.body, named, at)];
}

/** Engines that no event lights can be neither cut nor throttled nor shifted. */
function checkLit(study: Study, body: string, groups: readonly string[], at: At): Problem[] {
  const lit = study.sequence.events.flatMap(({ action }) => (action.kind === 'light' ? [action] : []));
  if (lit.some((action) => action.body === body && groups.includes(action.group))) return [];
  const others = [...new Set(lit.map((action) => action.body))].filter((other) => other !== body);
  const received = `${quote(body)}, of which no event lights ${groups.join(' or ')}`;
  return [makeProblem(at('body'), received, oneOf(others, 'a body whose engines an event lights'))];
}

function checkPart(study: Study, action: Of<'part'>, index: number, at: At): Problem[] {
  const { bodies } = study.vehicle;
  const links = Object.keys(bodies).filter((id) => bodies[id]!.ridesOn !== undefined);
  const unknown = checkName(at('link'), action.link, links, 'a body that rides on another');
  if (unknown.length > 0) return unknown;
  const before = study.sequence.events.slice(0, index);
  const earlier = before.find((event) => event.action.kind === 'part' && event.action.link === action.link);
  if (earlier === undefined) return [];
  const received = `${quote(action.link)}, which ${quote(earlier.id)} has parted already`;
  return [makeProblem(at('link'), received, 'each link once')];
}

function checkLaw(law: SteeringLaw, at: At): Problem[] {
  switch (law.kind) {
    case 'vertical':
    case 'zeroAlpha':
    case 'zeroAlphaInPlane':
    case 'holdInPlane':
    case 'prograde':
    case 'retrograde':
      return [];
    case 'attitude':
      return checkNodes(law, at);
    case 'kick':
    case 'linearTangent':
    case 'bilinearTangent':
    case 'yawedTangent':
      return checkRepeats(law.held, (k) => at('held', k));
    case 'fixed':
      return [
        ...checkRepeats(law.held, (k) => at('held', k)),
        ...checkHeldYaw(law, (...steps) => at(...steps)),
      ];
  }
}

function checkNodes(law: Extract<SteeringLaw, { kind: 'attitude' }>, at: At): Problem[] {
  const problems = law.nodes.flatMap((node, i) => [
    ...checkRepeats(node.held, (k) => at('nodes', i, 'held', k)),
    ...checkHeldYaw(node, (...steps) => at('nodes', i, ...steps)),
  ]);
  if (law.shape === 'polynomial' && law.nodes.length > MOST_POLYNOMIAL_NODES) {
    const allowed = `${MOST_POLYNOMIAL_NODES} at most in a polynomial, which swings between more; "spline" takes them`;
    problems.push(makeProblem(at('nodes'), `${law.nodes.length} nodes`, allowed));
  }
  return problems;
}

/** A yaw that is not stated cannot be held. */
function checkHeldYaw(node: { yaw_deg?: number | undefined; held: readonly string[] }, at: At): Problem[] {
  if (node.yaw_deg !== undefined || !node.held.includes('yaw_deg')) return [];
  const place = at('held', node.held.indexOf('yaw_deg'));
  return [
    makeProblem(place, '"yaw_deg", which is not stated here', '"pitch_deg" alone, or a yaw_deg to hold'),
  ];
}
