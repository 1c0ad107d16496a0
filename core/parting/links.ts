/** Which parting of a study is meant, and the same study with its mechanisms felt. */
import type { Study } from '../contract/study.ts';

/** The study or its flight has no such parting: names the place, what was received and what is allowed. */
export class PartingError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'PartingError';
  }
}

/**
 * The body whose link is meant: the named one, or the first that the sequence parts and that carries mechanisms, or else
 * the first that it parts. Throws PartingError when there is none or the name is another's. Unitless.
 */
export function chooseLink(study: Study, id?: string): string {
  const links = study.sequence.events.flatMap(({ action }) => (action.kind === 'part' ? [action.link] : []));
  if (links.length === 0) {
    throw new PartingError(
      'sequence.events: received no event that parts bodies, allowed is one with the action "part"',
    );
  }
  if (id !== undefined) {
    if (links.includes(id)) return id;
    const allowed = links.map((each) => `"${each}"`).join(' or ');
    throw new PartingError(`link: received "${id}", allowed is ${allowed}`);
  }
  const { bodies } = study.vehicle;
  return links.find((each) => Object.keys(bodies[each]!.link?.mechanisms ?? {}).length > 0) ?? links[0]!;
}

/** The same study, its flight feeling the mechanisms of a body's link; the rest is shared. Unitless. */
export function withPushedParting(study: Study, link: string): Study {
  const body = study.vehicle.bodies[link];
  if (body?.link === undefined || body.link.parting === 'pushed') return study;
  return withLink(study, link, { ...body.link, parting: 'pushed' });
}

/**
 * The same study with so many springs and pushers of a link failed, of each kind alike and no more than there are; counts.
 */
export function withFailedPushers(study: Study, link: string, failed: number): Study {
  const own = study.vehicle.bodies[link]?.link;
  if (own === undefined) return study;
  const mechanisms = Object.fromEntries(
    Object.entries(own.mechanisms).map(([key, mechanism]) => [
      key,
      mechanism.kind === 'springs' || mechanism.kind === 'pushers'
        ? { ...mechanism, failed: Math.min(mechanism.count, failed) }
        : mechanism,
    ]),
  );
  return withLink(study, link, { ...own, mechanisms });
}

function withLink(
  study: Study,
  id: string,
  link: NonNullable<Study['vehicle']['bodies'][string]['link']>,
): Study {
  const { bodies } = study.vehicle;
  return {
    ...study,
    vehicle: { ...study.vehicle, bodies: { ...bodies, [id]: { ...bodies[id]!, link } } },
  };
}
