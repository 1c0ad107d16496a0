/** Every number of a study with where it comes from and how well it is known: what a reader has to believe. */
import { listNumbers } from './places.ts';
import type { Study } from './study.ts';

export type Provenance = Study['provenance'][string];

export interface Assumption {
  /** Where it stands, as `setByPath` and provenance have it. */
  readonly path: string;
  /** The part of the study that it belongs to: a body, an event, the site. */
  readonly part: string;
  /** What it is: "dry mass", "main engines: vacuum thrust". */
  readonly name: string;
  /** In the unit of the path's last word; a table has several. */
  readonly values: readonly number[];
  /** Null when nothing is said. */
  readonly provenance: Provenance | null;
}

/** Words of keys that read otherwise than their letters. */
const NAMES: Readonly<Record<string, string>> = {
  thrustVacuum: 'vacuum thrust',
  ispVacuum: 'vacuum specific impulse',
  usable: 'usable propellant',
  residual: 'residual propellant',
  perigee: 'perigee height',
  apogee: 'apogee height',
  mach: 'Mach numbers',
  a: 'tangent at start',
  b_per: 'tangent rate',
};

/** All numbers of a study in the order of the document. Lists of plain numbers count as one. */
export function listAssumptions(study: Study): Assumption[] {
  return listNumbers(study).map(({ path, value }) => ({
    path,
    ...place(study, path.split('.')),
    values: typeof value === 'number' ? [value] : value,
    provenance:
      study.provenance[path] ?? (typeof value === 'number' ? null : common(study, path, value.length)),
  }));
}

/** A number, or one entry of a table, of which the study says how far it may lie from what it says. */
export interface UncertainNumber {
  readonly path: string;
  readonly part: string;
  readonly name: string;
  /** In the unit of the path's last word. */
  readonly value: number;
  readonly spread: NonNullable<Provenance['spread']>;
}

/** The numbers of the answer that have a spread, in the order of the document; of tables each entry for itself. */
export function listUncertain(study: Study): UncertainNumber[] {
  return listAssumptions(study)
    .filter(isInAnswer)
    .flatMap(({ path, part, name, values }) => {
      const own = study.provenance[path]?.spread;
      if (own !== undefined && values.length === 1)
        return [{ path, part, name, value: values[0]!, spread: own }];
      return values.flatMap((value, i): UncertainNumber[] => {
        const entry = `${path}.${i}`;
        const spread = study.provenance[entry]?.spread;
        if (spread === undefined) return [];
        return [{ path: entry, part, name: `${name}, entry ${i + 1}`, value, spread }];
      });
    });
}

/** What is said alike of each entry of a list, in place of the list itself; null when they differ or one has no source. */
function common(study: Study, path: string, length: number): Provenance | null {
  const entries = Array.from({ length }, (_, i) => study.provenance[`${path}.${i}`]);
  const [first] = entries;
  if (first === undefined || entries.some((entry) => entry?.source !== first.source)) return null;
  return { source: first.source };
}

/** Whether the answer stands on it: other ways of staging and flights home are held against it, not in it. */
export function isInAnswer({ path }: Assumption): boolean {
  return !/^(?:stagingModes|returns)\./.test(path);
}

/** What stands for a source where there is a spread or a note, and no source yet. */
export const NO_SOURCE = 'not said';

/** How much a reader has to take on trust: 0 no source, 1 a source, 2 a source and a spread. Unitless. */
export function certainty({ provenance }: Assumption): 0 | 1 | 2 {
  if (provenance === null || provenance.source === NO_SOURCE) return 0;
  return provenance.spread === undefined ? 1 : 2;
}

/** Assumptions of which path, part, name, source or note hold every word of the text; all for an empty text. */
export function findAssumptions(all: readonly Assumption[], text: string): Assumption[] {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  return all.filter(({ path, part, name, provenance }) => {
    const hay = [path, part, name, provenance?.source, provenance?.note].join(' ').toLowerCase();
    return words.every((word) => hay.includes(word));
  });
}

/** Part and name of what stands at the steps. */
function place(study: Study, steps: readonly string[]): { part: string; name: string } {
  const [first, second, third] = steps;
  const rest = (from: number, names: readonly string[] = steps): string =>
    names
      .slice(from)
      .filter((step) => step !== 'trigger' && step !== 'action' && step !== 'law' && step !== 'propellant')
      .map(words)
      .join(': ');
  if (first === 'vehicle' && second === 'bodies' && third !== undefined) {
    const body = study.vehicle.bodies[third]!;
    const [, , , list, id] = steps;
    const own =
      list === 'engineGroups'
        ? body.engineGroups[id!]?.name
        : list === 'fittings'
          ? body.fittings[id!]?.name
          : undefined;
    return { part: body.name, name: own === undefined ? rest(3) : `${own}: ${rest(5)}` };
  }
  if (first === 'vehicle' && second === 'aerodynamics' && third !== undefined) {
    const { bodies } = study.vehicle.aerodynamics[Number(third)]!;
    const named = bodies.map((id) => study.vehicle.bodies[id]?.name ?? id).join(' + ');
    return { part: `Drag of ${named}`, name: rest(3) };
  }
  if (first === 'sequence' && second === 'events' && third !== undefined) {
    const event = study.sequence.events.find(({ id }) => id === third);
    return { part: event?.name ?? third, name: rest(3) };
  }
  if (first === 'stagingModes' && second !== undefined) {
    const mode = study.stagingModes![second]!;
    const [, , list, id] = steps;
    const own = list === 'mechanisms' ? mode.mechanisms[id!]?.name : undefined;
    return { part: mode.name, name: own === undefined ? rest(2) : `${own}: ${rest(4)}` };
  }
  if (first === 'returns' && second === 'plans' && third !== undefined)
    return { part: study.returns!.plans[third]!.name, name: rest(3) };
  const parts: Readonly<Record<string, string>> = {
    earth: 'Earth and air',
    site: 'Launch site',
    target: 'Target orbit',
    payload: 'Payload',
    sequence: 'Sequence',
    vehicle: 'Vehicle',
    limits: 'Limits',
    returns: 'Flights home',
  };
  return { part: parts[first!] ?? words(first!), name: rest(1) };
}

/** A key as words, its unit left out: `dryMass_kg` is "dry mass". */
function words(key: string): string {
  const bare = key.replace(/_[A-Za-z0-9]+$/, '');
  return (
    NAMES[bare] ?? bare.replace(/([a-z0-9])([A-Z])/g, (_, a: string, b: string) => `${a} ${b.toLowerCase()}`)
  );
}
