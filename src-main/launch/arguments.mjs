import { existsSync } from 'node:fs';
import { isAbsolute, resolve } from 'node:path';
import { parseArgs } from 'node:util';

/** @typedef {'electron' | 'browser' | 'terminal'} Place  Where the study is opened. */

/** @type {Place[]} */
const PLACES = ['electron', 'browser', 'terminal'];

export const HELP = `npm start -- [STUDY] [--in PLACE[,PLACE…]] [--port N]

  STUDY   a *.plumeline.json file to be opened; the first demo if left out
  --in    where it is opened, the first place that can: electron, where its runtime is present or can be fetched;
          browser, an app window of an installed browser; terminal, where the sweep is printed and the window is
          served at an address. If left out: these three in this order, without a display the terminal alone
  --port  serves at this port of 127.0.0.1 where it is free

  PLUMELINE_BROWSER names the browser's program, where it is not to be looked for.
`;

/**
 * @param {readonly string[]} words  The command line.
 * @param {string} folder  Where the user stands.
 * @returns {{ study: string | undefined, places: Place[] | undefined, port: string | undefined, help: boolean }}
 * @throws with a sentence when it is not understood or the study is not there.
 */
export function readArguments(words, folder) {
  const { values, positionals } = parseArgs({
    args: [...words],
    allowPositionals: true,
    options: {
      in: { type: 'string' },
      port: { type: 'string' },
      help: { type: 'boolean', default: false },
    },
  });
  const places = values.in?.split(',').map((word) => {
    const place = PLACES.find((each) => each === word);
    if (place === undefined) throw new Error(`--in ${word}: allowed are ${PLACES.join(', ')}.`);
    return place;
  });
  const { port } = values;
  if (port !== undefined && !(/^\d{1,5}$/.test(port) && Number(port) >= 1024 && Number(port) < 65_536)) {
    throw new Error(`--port ${port}: allowed are whole numbers from 1024 to 65535.`);
  }
  if (positionals.length > 1)
    throw new Error(`one study is opened at a time, and ${positionals.length} were named.`);
  const [named] = positionals;
  const study = named === undefined || isAbsolute(named) ? named : resolve(folder, named);
  if (study !== undefined && !existsSync(study)) throw new Error(`there is no file ${study}.`);
  return { study, places, port, help: values.help };
}
