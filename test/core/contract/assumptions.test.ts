import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  certainty,
  findAssumptions,
  isInAnswer,
  listAssumptions,
  listUncertain,
} from '../../../core/contract/assumptions.ts';
import { loadStudy } from '../../../core/contract/load.ts';
import { numberPaths } from '../../../core/study/numbers.ts';
import { getByPath, setByPath } from '../../../core/contract/studyNumbers.ts';
import type { Study } from '../../../core/contract/study.ts';
import { unitOfKey } from '../../../core/units/keys.ts';
import { ondelStudy } from '../../fixtures/study.ts';

const study = ondelStudy();
const all = listAssumptions(study);

function getByPathOf(of: Study, path: string): unknown {
  const found = getByPath(of, path);
  if (!found.ok) throw new Error(found.problem.sentence);
  return found.value;
}

describe('the numbers of a study', () => {
  it('are all there, each at the path at which it can be read and changed', () => {
    // Every number of the text, counted without the code that lists them; the format is none to believe.
    const counted = (value: unknown): number =>
      typeof value === 'number'
        ? 1
        : typeof value === 'object' && value !== null
          ? Object.values(value).reduce((sum: number, child) => sum + counted(child), 0)
          : 0;
    const { earth, site, target, payload, vehicle, sequence } = study;
    const listed = all.reduce((sum, { values }) => sum + values.length, 0);
    expect(listed).toBe(counted([earth, site, target, payload, vehicle, sequence]));
    for (const { path, values } of all) {
      const found = getByPath(study, path);
      expect(found.ok && [found.value].flat(), path).toEqual(values);
      expect(setByPath(study, path, found.ok ? found.value : null).ok, path).toBe(true);
      expect(() => unitOfKey(path)).not.toThrow();
    }
  });

  it('know what is said of them, and what is not', () => {
    const single = all.filter((each) => each.values.length === 1);
    const said = single.filter((each) => certainty(each) > 0).map((each) => each.path);
    expect(said.sort()).toEqual(
      Object.keys(study.provenance)
        .filter((path) => single.some((each) => each.path === path))
        .sort(),
    );
    expect(single.some((each) => certainty(each) === 0)).toBe(true);
  });

  it('take what is said alike of all entries of a list for the list', () => {
    const drag = 'vehicle.aerodynamics.0.dragCoefficient.value';
    const { value } = study.vehicle.aerodynamics[0]!.dragCoefficient;
    const told = (sources: readonly string[]): number => {
      const entries = sources.map((source, i) => [`${drag}.${i}`, { source }] as const);
      const found = listAssumptions({ ...study, provenance: Object.fromEntries(entries) });
      return certainty(found.find((each) => each.path === drag)!);
    };
    const alike = value.map(() => 'a handbook');
    expect(told(alike)).toBe(1);
    expect(told(alike.slice(1))).toBe(0);
    expect(told(['another', ...alike.slice(1)])).toBe(0);
  });

  it('are the ones that can be varied, each entry of a table for itself, but for other ways of staging', () => {
    const loaded = loadStudy(readFileSync('assets/demos/heavy.plumeline.json', 'utf8'));
    if (!loaded.ok) throw new Error('the demo does not load');
    const each = listAssumptions(loaded.study)
      .filter(({ path }) => !path.startsWith('stagingModes.'))
      .flatMap(({ path, values }) =>
        Array.isArray(getByPathOf(loaded.study, path)) ? values.map((_, i) => `${path}.${i}`) : [path],
      );
    expect(numberPaths(loaded.study)).toEqual(each);
  });

  it('that have a spread are listed with it, entries of a table too', () => {
    const loaded = loadStudy(readFileSync('assets/demos/heavy.plumeline.json', 'utf8'));
    if (!loaded.ok) throw new Error('the demo does not load');
    const spread = Object.keys(loaded.study.provenance).filter(
      (path) => loaded.study.provenance[path]!.spread !== undefined,
    );
    const listed = listUncertain(loaded.study);
    expect(listed.map(({ path }) => path).sort()).toEqual(
      spread.filter((path) => !/^(stagingModes|returns)\./.test(path)).sort(),
    );
    for (const { path, value } of listed) expect(getByPathOf(loaded.study, path)).toBe(value);
    expect(listed.find(({ path }) => path.endsWith('dragCoefficient.value.1'))!.name).toMatch(/entry 2$/);
  });

  it('have the name of their part and words for what they are', () => {
    const at = (path: string): string => {
      const found = all.find((each) => each.path === path)!;
      return `${found.part} / ${found.name}`;
    };
    const [body, { name }] = Object.entries(study.vehicle.bodies)[0]!;
    expect(at(`vehicle.bodies.${body}.dryMass_kg`)).toBe(`${name} / dry mass`);
    expect(at('target.perigee_m')).toBe('Target orbit / perigee height');
  });

  it('of other ways of staging and of flights home are named after those, and are not in the answer', () => {
    const loaded = loadStudy(readFileSync('assets/demos/heavy.plumeline.json', 'utf8'));
    if (!loaded.ok) throw new Error('the demo does not load');
    const beside = listAssumptions(loaded.study).filter((each) => !isInAnswer(each));
    const named = (path: string): string | undefined => {
      const found = beside.find((each) => each.path === path);
      return found && `${found.part} / ${found.name}`;
    };
    expect(named('stagingModes.springs.mechanisms.springs.stroke_m')).toBe(
      'Cold gap, springs / Parting springs: stroke',
    );
    expect(named('returns.plans.downrange.noseRadius_m')).toBe('Down on the sea / nose radius');
    expect(beside.every(({ path }) => /^(stagingModes|returns)\./.test(path))).toBe(true);
    expect(all.every(isInAnswer)).toBe(true);
  });

  it('are found by words in any order, in path, name or source', () => {
    const masses = findAssumptions(all, 'mass DRY');
    expect(masses.length).toBe(Object.keys(study.vehicle.bodies).length);
    expect(findAssumptions(all, '')).toEqual(all);
    expect(findAssumptions(all, 'no such words')).toEqual([]);
  });
});
