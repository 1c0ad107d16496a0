/** Links between bodies and ways of staging: that mechanisms stand on the two bodies that they part. */
import { makeProblem, oneOf, quote, type Problem } from '../problem.ts';
import type { Mechanism } from '../parting.ts';
import type { Study } from '../study.ts';
import { checkName } from './references.ts';

/**
 * Problems with links: on a body that rides on nothing, mechanisms carried by a body that the link does not join, retro
 * motors on the upper or settling motors on the lower body, fittings that do not exist or are named twice, more failed
 * springs than there are; and with staging modes: unknown links and gap events. Unitless.
 */
export function checkLinks(study: Study): Problem[] {
  const { bodies } = study.vehicle;
  return [
    ...Object.entries(bodies).flatMap(([id, { link, ridesOn }]) => {
      if (link === undefined) return [];
      const path = `vehicle.bodies.${id}.link`;
      if (ridesOn === undefined) {
        const received = `a link, although ${quote(id)} rides on nothing`;
        return [makeProblem(path, received, 'a link on a body with ridesOn')];
      }
      return checkMechanisms(study, `${path}.mechanisms`, id, link.mechanisms);
    }),
    ...Object.entries(study.stagingModes ?? {}).flatMap(([key, mode]) => {
      const path = `stagingModes.${key}`;
      const riding = Object.keys(bodies).filter((id) => bodies[id]!.ridesOn !== undefined);
      const unknown = checkName(`${path}.link`, mode.link, riding, 'a body that rides on another');
      if (unknown.length > 0) return unknown;
      return [
        ...checkMechanisms(study, `${path}.mechanisms`, mode.link, mode.mechanisms),
        ...checkGapEvent(study, `${path}.event`, mode.event),
      ];
    }),
  ];
}

function checkGapEvent(study: Study, path: string, event: string | undefined): Problem[] {
  if (event === undefined) return [];
  const gaps = study.sequence.events.filter(({ trigger }) => trigger.kind === 'gap').map(({ id }) => id);
  return checkName(path, event, gaps, 'an event with a "gap" trigger');
}

function checkMechanisms(
  study: Study,
  path: string,
  upper: string,
  mechanisms: Readonly<Record<string, Mechanism>>,
): Problem[] {
  const { bodies } = study.vehicle;
  const lower = bodies[upper]!.ridesOn!;
  const seen = new Set<string>();
  return Object.entries(mechanisms).flatMap(([key, mechanism]) => {
    const at = `${path}.${key}`;
    const joined =
      mechanism.kind === 'retro' ? [lower] : mechanism.kind === 'settling' ? [upper] : [lower, upper];
    const problems: Problem[] = [];
    if (!joined.includes(mechanism.body)) {
      const received = `${quote(mechanism.body)} for ${quote(mechanism.kind)}`;
      problems.push(makeProblem(`${at}.body`, received, oneOf(joined, 'a body')));
    } else if (mechanism.fitting !== undefined) {
      const fittings = Object.keys(bodies[mechanism.body]?.fittings ?? {});
      const what = `a fitting of ${quote(mechanism.body)}`;
      problems.push(...checkName(`${at}.fitting`, mechanism.fitting, fittings, what));
      const name = `${mechanism.body} ${mechanism.fitting}`;
      if (seen.has(name))
        problems.push(
          makeProblem(`${at}.fitting`, `${quote(mechanism.fitting)} a second time`, 'each fitting once'),
        );
      seen.add(name);
    }
    if ('failed' in mechanism && mechanism.failed > mechanism.count) {
      const allowed = `a whole number from 0 to ${mechanism.count}, the count`;
      problems.push(makeProblem(`${at}.failed`, String(mechanism.failed), allowed));
    }
    return problems;
  });
}
