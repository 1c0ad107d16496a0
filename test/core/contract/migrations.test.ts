import { describe, expect, test } from 'vitest';
import type { JsonObject } from '../../../core/contract/json.ts';
import { loadStudy, saveStudy } from '../../../core/contract/load.ts';
import { migrate, MIGRATIONS, type Migration } from '../../../core/contract/migrations.ts';
import { STUDY_FORMAT } from '../../../core/contract/study.ts';
import { ondelDocument, ondelText } from '../../fixtures/study.ts';

/** Two invented older formats: -1 had its title as `name`, 0 had the payload's mass in tonnes. */
const CHAIN: readonly Migration[] = [
  {
    from: -1,
    change: 'name is called title',
    apply: ({ name, ...rest }) => ({ ...rest, title: name! }),
  },
  {
    from: 0,
    change: 'payload in kilograms',
    apply: (document) => {
      const { mass_t, ...payload } = document['payload'] as { mass_t: number } & JsonObject;
      return { ...document, payload: { ...payload, mass_kg: mass_t * 1000 } };
    },
  },
];

function oldDocument(): JsonObject {
  const { title, ...document } = ondelDocument();
  return { ...document, format: -1, name: title!, payload: { mass_t: 1.5, ridesOn: 'upper' } };
}

describe('the chain of migrations', () => {
  test('a file of an old format goes through every step and loads as the new one', () => {
    const result = loadStudy(JSON.stringify(oldDocument()), CHAIN);
    expect(result.ok && saveStudy(result.study)).toBe(ondelText());
  });

  test('a file of a middle format takes only the steps after it', () => {
    const middle = { ...ondelDocument(), format: 0, payload: { mass_t: 1.5, ridesOn: 'upper' } };
    const result = migrate(middle, CHAIN, STUDY_FORMAT);
    expect(result.ok && result.applied.map((step) => step.from)).toEqual([0]);
    expect(result.ok && result.document).toEqual(ondelDocument());
  });

  test('a file of the present format takes none', () => {
    const result = migrate(ondelDocument(), CHAIN, STUDY_FORMAT);
    expect(result.ok && result.applied).toEqual([]);
  });

  test('the old document itself stays as it was', () => {
    const document = oldDocument();
    migrate(document, CHAIN, STUDY_FORMAT);
    expect(document).toEqual(oldDocument());
  });

  test('what a step leaves wrong is told by the path in the new format', () => {
    const document = { ...oldDocument(), payload: { mass_t: -1, ridesOn: 'upper' } };
    const result = loadStudy(JSON.stringify(document), CHAIN);
    expect(result.ok ? '' : result.problems[0]!.sentence).toBe(
      'payload.mass_kg: received -1000, allowed is a number of at least 0.',
    );
  });

  test.each([
    [2, 'newerFormat'],
    [-2, 'olderFormat'],
    [0.5, 'invalid'],
    ['1', 'invalid'],
    [null, 'invalid'],
  ])('format %j is refused as %s, with the formats that are read', (format, code) => {
    const result = migrate({ format }, CHAIN, STUDY_FORMAT);
    expect(result).toMatchObject({ ok: false, code });
    if (!result.ok) expect(result.problem.allowed).toBe(`a whole number from -1 to ${STUDY_FORMAT}`);
  });

  test('a chain with a hole is a fault of the program', () => {
    expect(() => migrate({ format: 1 }, [CHAIN[0]!], STUDY_FORMAT)).toThrow(
      'after the step from -1 comes 1; allowed is 0',
    );
  });

  test('the chain that ships ends at the present format', () => {
    expect(() => migrate(ondelDocument(), MIGRATIONS, STUDY_FORMAT)).not.toThrow();
    expect(STUDY_FORMAT).toBe(1 + MIGRATIONS.length);
  });
});
