/** A study's fingerprint, which results carry so that no result is ever shown beside another study. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import { canonicalText } from './canonicalText.ts';
import { saveStudy } from './load.ts';
import type { Study } from './study.ts';

/**
 * SHA-256 (FIPS 180-4) of the study's canonical text in UTF-8, as 64 hexadecimal digits: what `sha256sum` prints for
 * a file that `saveStudy` wrote. Words count as well as numbers. Unitless. Throws StudyError on an invalid study.
 */
export function contentHash(study: Study): string {
  return textHash(saveStudy(study));
}

/**
 * As `contentHash`, of any document that JSON can hold: published numbers, observed points. Unitless. Throws TypeError for
 * what JSON cannot hold.
 */
export function documentHash(document: unknown): string {
  return textHash(canonicalText(document));
}

function textHash(text: string): string {
  return bytesToHex(sha256(utf8ToBytes(text)));
}
