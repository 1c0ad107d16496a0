import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { howEnded } from './children.mjs';

const ENDING = '.plumeline.json';

/**
 * Without a window: prints the address at which one could be opened, solves the sweep of the study in the terminal, and
 * serves until it is called off.
 *
 * @param {import('./children.mjs').Children} children
 * @param {import('./loopback.mjs').LoopbackHost} host
 * @param {string} root
 * @param {string | undefined} study  A path; the first demo if left out.
 * @param {(line: string) => void} say
 * @returns {Promise<number>} The exit code.
 */
export async function serveInTerminal(children, host, root, study, say) {
  process.stdout.write(`${host.address}\n`);
  say('open this address in a browser on this machine; it is good until this program ends');

  const command = join(root, 'out/main/cli.js');
  const swept = study ?? firstDemo(root);
  if (swept === undefined || !existsSync(command)) {
    say('there is no study to be swept here');
  } else {
    say(`solving the sweep of ${swept}`);
    const { ended } = children.begin(process.execPath, [command, 'sweep', swept], { stdio: 'inherit' });
    const outcome = await ended;
    if (outcome.code !== 0 && children.signal === undefined) say(`the sweep ended with ${howEnded(outcome)}`);
  }
  if (children.signal === undefined) say('serving until Ctrl-C');
  const { code } = await host.ended;
  return code ?? 1;
}

/**
 * @param {string} root
 * @returns {string | undefined} The name of the demo that the window opens too.
 */
function firstDemo(root) {
  const folder = join(root, 'assets/demos');
  if (!existsSync(folder)) return undefined;
  return readdirSync(folder)
    .filter((name) => name.endsWith(ENDING))
    .sort()[0]
    ?.slice(0, -ENDING.length);
}
