import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { howEnded } from './children.mjs';
import { listDemos } from './demos.mjs';

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
  const swept = study ?? (await firstDemo(join(root, 'assets/demos')));
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
 * @param {string} folder
 * @returns {Promise<string | undefined>} The name of the demo that the window opens too.
 */
async function firstDemo(folder) {
  return existsSync(folder) ? (await listDemos(folder))[0]?.id : undefined;
}
