import { createHash } from 'node:crypto';
import { expect, test } from 'vitest';
import { contentHash } from '../../../core/contract/contentHash.ts';
import { setByPath } from '../../../core/contract/studyNumbers.ts';
import { ondelStudy, ondelText } from '../../fixtures/study.ts';

test('the hash is the SHA-256 that another implementation finds of the saved file', () => {
  const oracle = createHash('sha256').update(ondelText(), 'utf8').digest('hex');
  expect(contentHash(ondelStudy())).toBe(oracle);
});

test('letters beyond ASCII count by their UTF-8 bytes', () => {
  const study = { ...ondelStudy(), title: 'Å, 𝄞 and ½' };
  const text = ondelText().replace('Ondel, two stages and a ring', study.title);
  expect(contentHash(study)).toBe(createHash('sha256').update(text, 'utf8').digest('hex'));
});

test('the last digit of one number changes it', () => {
  const result = setByPath(ondelStudy(), 'payload.mass_kg', 1500.0000000000002);
  expect(result.ok && contentHash(result.study)).not.toBe(contentHash(ondelStudy()));
});
