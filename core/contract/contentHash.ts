/** A study's fingerprint, which results carry so that no result is ever shown beside another study. */
import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import { saveStudy } from './load.ts';
import type { Study } from './study.ts';

/**
 * SHA-256 (FIPS 180-4) of the study's canonical text in UTF-8, as 64 hexadecimal digits: what `sha256sum` prints for
 * a file that `saveStudy` wrote. Words count as well as numbers. Unitless. Throws StudyError on an invalid study.
 */
export function contentHash(study: Study): string {
  return bytesToHex(sha256(utf8ToBytes(saveStudy(study))));
}
