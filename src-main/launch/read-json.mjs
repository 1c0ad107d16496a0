import { readFileSync } from 'node:fs';

/**
 * @param {string} path
 * @returns {unknown} What the file says, to be cast to what its reader relies on.
 * @throws when there is no such file or it is not JSON.
 */
export function readJson(path) {
  return JSON.parse(readFileSync(path, 'utf8'));
}
