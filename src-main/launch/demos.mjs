import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { readJson } from './read-json.mjs';

const ENDING = '.plumeline.json';

/**
 * The demo studies of a folder: those that hold a claim first, since a question with its answer is what this program is for,
 * then by name. Throws when the folder or one of its studies cannot be read.
 *
 * @param {string} folder
 * @returns {Promise<{ id: string, title: string }[]>} The file's name without its ending, and the study's title.
 */
export async function listDemos(folder) {
  const names = (await readdir(folder)).filter((name) => name.endsWith(ENDING)).sort();
  const demos = names.map((name) => {
    const { title, claims } = /** @type {{ title?: unknown, claims?: unknown }} */ (
      readJson(join(folder, name))
    );
    const id = name.slice(0, -ENDING.length);
    return {
      id,
      title: typeof title === 'string' ? title : id,
      asks: Array.isArray(claims) && claims.length > 0,
    };
  });
  return demos.sort((p, q) => Number(q.asks) - Number(p.asks)).map(({ id, title }) => ({ id, title }));
}
