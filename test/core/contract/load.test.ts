import fc from 'fast-check';
import { z } from 'zod';
import { describe, expect, test, vi } from 'vitest';
import {
  loadStudy,
  LONGEST_STUDY,
  saveStudy,
  StudyError,
  validateStudy,
} from '../../../core/contract/load.ts';
import type { LoadResult } from '../../../core/contract/load.ts';
import { ondelDocument, ondelStudy, ondelText, spoiltOndel } from '../../fixtures/study.ts';
import { INCONSISTENT, INVALID, NOT_JSON, type Mistake } from './mistakes.ts';

// Documents are changed in ways that no type would let through.
/* eslint-disable @typescript-eslint/no-unsafe-member-access */

function loadSpoilt(mistake: Mistake): LoadResult {
  return loadStudy(JSON.stringify(spoiltOndel(mistake.spoil)));
}

function expectFirst(result: LoadResult, code: string, path: string, words: readonly string[]): void {
  expect(result.ok).toBe(false);
  if (result.ok) return;
  expect(result.code).toBe(code);
  const [first] = result.problems;
  expect(first!.path).toBe(path);
  expect(
    first!.sentence.startsWith(`${path}: received ${first!.received}, allowed is ${first!.allowed}`),
  ).toBe(true);
  for (const each of words) expect(first!.sentence).toContain(each);
  // One sentence: one full stop or question mark, at its end.
  expect(first!.sentence).toMatch(/[^.?][.?]$/);
}

describe('a file with one mistake is refused with its path, what was received and what is allowed', () => {
  test.each(INVALID)('$what', (mistake) => {
    expectFirst(loadSpoilt(mistake), 'invalid', mistake.path, mistake.words);
  });

  test.each(INCONSISTENT)('$what', (mistake) => {
    expectFirst(loadSpoilt(mistake), 'inconsistent', mistake.path, mistake.words);
  });

  test.each(NOT_JSON)('text that is no JSON: %j', (text, place, received, allowed) => {
    expectFirst(loadStudy(text), 'notJson', place, [`received ${received}`, allowed]);
  });

  test('one mistake is told as one problem, but for those that must have another in their wake', () => {
    const chatty = [...INVALID, ...INCONSISTENT].flatMap((mistake) => {
      const result = loadSpoilt(mistake);
      return !result.ok && result.problems.length > 1 ? [mistake.what] : [];
    });
    expect(chatty).toEqual([
      // Missing by the right name, unknown by the wrong one.
      'a misspelt key in one of two alternatives',
      'no bodies',
      // What nothing lights cannot be cut either.
      'an unknown body lit',
      'a body without engines lit',
      'an unknown group lit',
      // An arrangement that does not occur, or is described as another, leaves one without its drag.
      'the lowest body parted',
      'drag of an unknown body',
      'drag of a body named twice',
    ]);
  });
});

describe('documents that are no study of this format', () => {
  test.each([3, null, 'text', [], true])('%j is not an object', (value) => {
    const result = loadStudy(JSON.stringify(value));
    expect(result).toMatchObject({ ok: false, code: 'invalid' });
    if (!result.ok) expect(result.problems[0]!.sentence).toContain('an object with the keys of a study');
  });

  test('a newer format says so, whatever else the file holds', () => {
    const result = loadStudy('{"format": 2, "strange": true}');
    expect(result).toMatchObject({ ok: false, code: 'newerFormat' });
    if (!result.ok)
      expect(result.problems[0]!.sentence).toBe(
        'format: received 2, allowed is 1; the file was written by a newer version of the program, which can open it.',
      );
  });

  test('an older format than any known is told apart from a newer one', () => {
    expect(loadStudy('{"format": 0}')).toMatchObject({ ok: false, code: 'olderFormat' });
  });

  test('a number too large for a double is not taken', () => {
    const text = ondelText().replace('"mass_kg": 1500', '"mass_kg": 1e999');
    const result = loadStudy(text);
    expect(result).toMatchObject({ ok: false, code: 'invalid' });
    if (!result.ok) expect(result.problems[0]!.sentence).toContain('payload.mass_kg: received Infinity');
  });

  test('a text of absurd length is refused before it is read', () => {
    expect(loadStudy(' '.repeat(LONGEST_STUDY + 1))).toMatchObject({ ok: false, code: 'tooLong' });
  });

  test('several mistakes are told together', () => {
    const document = spoiltOndel((study) => {
      study.site.latitude_deg = 95;
      study.vehicle.bodies.upper.dryMass_kg = -5;
    });
    const result = loadStudy(JSON.stringify(document));
    expect(result.ok ? [] : result.problems.map((problem) => problem.path)).toEqual([
      'site.latitude_deg',
      'vehicle.bodies.upper.dryMass_kg',
    ]);
  });
});

describe('saving', () => {
  test('a file in canonical form comes back byte for byte', () => {
    expect(saveStudy(ondelStudy())).toBe(ondelText());
  });

  test('a byte-order mark and Windows line ends make no difference to what is loaded', () => {
    const windows = `\uFEFF${ondelText().replaceAll('\n', '\r\n')}`;
    expect(loadStudy(windows)).toEqual({ ok: true, study: ondelStudy() });
  });

  test('defaults that a file leaves out are written', () => {
    const document = spoiltOndel((study) => {
      delete study.notes;
      delete study.vehicle.bodies.ring.fittings;
      delete study.vehicle.bodies.upper.engineGroups.vacuum.throttle;
    });
    const result = loadStudy(JSON.stringify(document));
    expect(result.ok && result.study.vehicle.bodies['upper']!.engineGroups['vacuum']!.throttle).toEqual({
      least: 1,
      most: 1,
    });
    expect(result.ok && saveStudy(result.study)).toBe(
      ondelText().replace('"Invented for tests: every number is made up."', '""'),
    );
  });

  test('the order of keys in the file does not matter, the order of bodies is kept', () => {
    const result = loadStudy(JSON.stringify(reversed(ondelDocument())));
    expect(result.ok).toBe(true);
    if (!result.ok) return;
    const bodies = Object.keys(result.study.vehicle.bodies);
    expect(bodies).toEqual(['fairing', 'upper', 'ring', 'booster']);
    expect(result.study).toEqual(ondelStudy());
    expect(Object.keys(JSON.parse(saveStudy(result.study)) as object)).toEqual(Object.keys(ondelDocument()));
  });

  test('a study that is none is not written', () => {
    const study = { ...ondelStudy(), title: '' };
    expect(() => saveStudy(study)).toThrow(StudyError);
    expect(() => saveStudy(study)).toThrow('title: received an empty text');
  });

  test('numbers of any size and texts of any letters come back as they were', () => {
    const finite = fc.double({ noNaN: true, noDefaultInfinity: true });
    const positive = finite.map(Math.abs);
    fc.assert(
      fc.property(
        fc.string({ unit: 'grapheme', minLength: 1, maxLength: 100 }),
        fc.string({ unit: 'binary', maxLength: 100 }),
        positive,
        fc.double({ min: -90, max: 90, noNaN: true }),
        fc.uniqueArray(positive, { minLength: 1, maxLength: 12 }),
        fc.dictionary(fc.stringMatching(/^[A-Za-z][A-Za-z0-9-]{0,39}$/), positive, { maxKeys: 5 }),
        (title, notes, mass, latitude, machs, fittings) => {
          const mach = machs.sort((a, b) => a - b);
          const document = spoiltOndel((study) => {
            study.title = title;
            study.notes = notes;
            study.payload.mass_kg = mass;
            study.site.latitude_deg = latitude;
            const value = mach.map(() => 0.5);
            Object.assign(study.vehicle.aerodynamics[0].dragCoefficient as object, { mach, value });
            study.vehicle.bodies.ring.fittings = Object.fromEntries(
              Object.entries(fittings).map(([id, kg]) => [id, { name: id, mass_kg: kg }]),
            );
          });
          const first = validateStudy(document);
          if (!first.ok) throw new Error(first.problems[0]!.sentence);
          const text = saveStudy(first.study);
          const second = loadStudy(text);
          // JSON writes -0 as 0, so the texts are compared as well as the values.
          expect(second.ok && saveStudy(second.study)).toBe(text);
          expect(second.ok && second.study.title).toBe(title);
          expect(second.ok && second.study.notes).toBe(notes);
          expect(second.ok && second.study.payload.mass_kg).toBe(mass);
          expect(second.ok && second.study.site.latitude_deg === latitude).toBe(true);
          expect(second.ok && second.study.vehicle.aerodynamics[0]!.dragCoefficient.mach).toEqual(mach);
        },
      ),
      { seed: 2, numRuns: 100 },
    );
  });
});

test('loading needs no code made from text, which the window forbids', async () => {
  expect(z.config().jitless).toBe(true);
  vi.resetModules();
  const forbidden = vi.fn(() => {
    throw new EvalError('code generation from strings disallowed for this context');
  });
  vi.stubGlobal('Function', forbidden);
  try {
    const fresh = await import('../../../core/contract/load.ts');
    expect(fresh.loadStudy(ondelText()).ok).toBe(true);
    expect(forbidden).not.toHaveBeenCalled();
  } finally {
    vi.unstubAllGlobals();
  }
});

function reversed(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(reversed);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value)
      .reverse()
      .map(([key, each]) => [key, reversed(each)]),
  );
}
