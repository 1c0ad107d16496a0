import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { isJsonObject } from '../../../core/contract/json.ts';
import { saveStudy } from '../../../core/contract/load.ts';
import {
  allowedAtPath,
  getByPath,
  getNumberByPath,
  movedSpread,
  setByPath,
} from '../../../core/contract/studyNumbers.ts';
import { ondelStudy, ondelText } from '../../fixtures/study.ts';

const KICK = 'sequence.events.kick.action.law.angle_deg';

/** The path of every number of a value, lists by index. */
function numbersOf(value: unknown, path: string): string[] {
  if (typeof value === 'number') return [path];
  const entries = Array.isArray(value)
    ? [...value.entries()]
    : isJsonObject(value)
      ? Object.entries(value)
      : [];
  return entries.flatMap(([key, each]) => numbersOf(each, path === '' ? String(key) : `${path}.${key}`));
}

describe('reading a number by its path', () => {
  test('a body by its key, an event by its id or its index', () => {
    const study = ondelStudy();
    expect(getNumberByPath(study, 'vehicle.bodies.upper.dryMass_kg')).toEqual({ ok: true, value: 1650 });
    expect(getNumberByPath(study, KICK)).toEqual({ ok: true, value: 0.95 });
    expect(getNumberByPath(study, 'sequence.events.3.action.law.angle_deg')).toEqual({
      ok: true,
      value: 0.95,
    });
    expect(getNumberByPath(study, 'vehicle.aerodynamics.0.dragCoefficient.mach.2')).toEqual({
      ok: true,
      value: 1.05,
    });
    expect(getByPath(study, 'earth.gravity')).toEqual({ ok: true, value: 'j2' });
  });

  test.each([
    ['vehicle.bodies.uper.dryMass_kg', 'vehicle.bodies.uper', 'did you mean "upper"?'],
    ['sequence.events.kik.action.law.angle_deg', 'sequence.events.kik', 'did you mean "kick"?'],
    ['vehicle.bodies.upper.drymass_kg', 'vehicle.bodies.upper.drymass_kg', 'did you mean "dryMass_kg"?'],
    ['vehicle.aerodynamics.9.referenceArea_m2', 'vehicle.aerodynamics.9', 'unknown name "9"'],
    ['vehicle.aerodynamics.00.referenceArea_m2', 'vehicle.aerodynamics.00', 'unknown name "00"'],
    ['payload.mass_kg.tonnes', 'payload.mass_kg.tonnes', 'a path that ends before it'],
    ['vehicle.bodies.constructor.name', 'vehicle.bodies.constructor', 'unknown name "constructor"'],
    ['__proto__', '__proto__', 'unknown name "__proto__"'],
    ['', '', 'unknown name ""'],
  ])('%s leads nowhere, and the first wrong word is named', (path, upTo, words) => {
    const result = getByPath(ondelStudy(), path);
    expect(result.ok).toBe(false);
    if (result.ok) return;
    expect(result.problem.path).toBe(upTo);
    expect(result.problem.sentence).toContain(words);
  });

  test('what is no number is said', () => {
    const result = getNumberByPath(ondelStudy(), 'site.name');
    expect(result.ok ? '' : result.problem.sentence).toBe(
      'site.name: received "Kalvost Bank", allowed is the path of a number.',
    );
  });
});

describe('setting a value by its path', () => {
  test('one value changes, the given study stays', () => {
    const study = ondelStudy();
    const result = setByPath(study, KICK, 4.25);
    expect(result.ok && saveStudy(result.study)).toBe(
      ondelText().replace('"angle_deg": 0.95', '"angle_deg": 4.25'),
    );
    expect(saveStudy(study)).toBe(ondelText());
  });

  test('a number that is set beyond its triangular spread takes it along, and leaves it within', () => {
    const path = 'vehicle.bodies.upper.dryMass_kg';
    const study = ondelStudy();
    const before = study.vehicle.bodies['upper']!.dryMass_kg;
    study.provenance[path] = {
      source: 'test',
      spread: { shape: 'triangular', low: before - 10, high: before + 20 },
    };
    const beyond = setByPath(study, path, before + 100);
    expect(beyond.ok && beyond.study.provenance[path]).toEqual({
      source: 'test',
      spread: { shape: 'triangular', low: before + 90, high: before + 120 },
    });
    expect(study.provenance[path].spread!.low).toBe(before - 10);
    const within = setByPath(study, path, before + 15);
    expect(within.ok && within.study.provenance[path]!.spread!.low).toBe(before - 10);
    expect(movedSpread(study, path, before - 10)).toBeNull();
    expect(movedSpread(study, path, before - 11)).toEqual({ key: path, low: before - 21, high: before + 9 });
    // A uniform spread says nothing of where its number stands.
    study.provenance[path].spread!.shape = 'uniform';
    expect(movedSpread(study, path, before + 100)).toBeNull();
  });

  test('a choice and an optional key can be set as well', () => {
    const changed = setByPath(ondelStudy(), 'earth.gravity', 'central');
    expect(changed.ok && changed.study.earth.gravity).toBe('central');
    const study = ondelStudy();
    delete study.target.inclination_deg;
    const added = setByPath(study, 'target.inclination_deg', 28.5);
    expect(added.ok && saveStudy(added.study)).toBe(ondelText());
    const engines = setByPath(study, 'sequence.events.booster-start.action.engines', 5);
    expect(engines.ok).toBe(true);
  });

  test.each([
    [
      'vehicle.bodies.upper.dryMass_kg',
      -1,
      'invalid',
      'vehicle.bodies.upper.dryMass_kg: received -1, allowed is a number of at least 0.',
    ],
    ['vehicle.bodies.upper.dryMass_kg', '1 t', 'invalid', 'received "1 t", allowed is a number'],
    ['vehicle.bodies.upper.dryMass_t', 1, 'invalid', 'did you mean "dryMass_kg"?'],
    ['vehicle.bodies.third.dryMass_kg', 1, 'invalid', 'the unknown name "third"'],
    ['vehicle.bodies.upper.constructor', 1, 'invalid', 'the unknown name "constructor"'],
    ['sequence.events.booster-start.action.engines', 8, 'inconsistent', 'from 1 to 7'],
    ['sequence.events.ignition.action.throttle', 0.5, 'inconsistent', '1, the only throttle'],
    ['target.apogee_m', 100_000, 'invalid', 'at least perigee_m'],
  ])('%s = %j is refused', (path, value, code, words) => {
    const result = setByPath(ondelStudy(), path, value);
    expect(result).toMatchObject({ ok: false, code });
    expect(result.ok ? '' : result.problems[0]!.sentence).toContain(words);
  });

  test('what is allowed at a path is told in words', () => {
    const study = ondelStudy();
    expect(allowedAtPath(study, KICK)).toBe('a number from 0 to 60');
    expect(allowedAtPath(study, 'target.inclination_deg')).toBe('a number from 0 to 180');
    expect(allowedAtPath(study, 'vehicle.bodies.none.dryMass_kg')).toBeUndefined();
  });

  test('every number of the study is found by its own path, and setting it to itself changes nothing', () => {
    const study = ondelStudy();
    const paths = numbersOf({ ...study, provenance: {} }, '');
    expect(paths.length).toBeGreaterThan(80);
    fc.assert(
      fc.property(fc.constantFrom(...paths), (path) => {
        const found = getNumberByPath(study, path);
        if (!found.ok) throw new Error(found.problem.sentence);
        const set = setByPath(study, path, found.value);
        expect(set.ok && saveStudy(set.study)).toBe(ondelText());
      }),
      { seed: 6, numRuns: 100 },
    );
  });
});
