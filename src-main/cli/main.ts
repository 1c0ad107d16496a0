/** The command `plumeline`, from the process's own streams and signals. Runs when it is imported. */
import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import picocolors from 'picocolors';
import { EXIT } from './exit.ts';
import { runCommand } from './program.ts';

/** Whoever starts the command may pass on a Ctrl-C that the terminal has sent it too: within this time both are one press, ms. */
const ONE_PRESS_ms = 300;

let interrupted_ms: number | null = null;
process.on('SIGINT', () => {
  // Once: the command ends itself between two solves. Twice: at once; nothing is written before the end anyway.
  if (interrupted_ms === null) interrupted_ms = performance.now();
  else if (performance.now() - interrupted_ms > ONE_PRESS_ms) process.exit(EXIT.cancelled);
});
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  // Whoever read has read enough, as `head` does.
  if (error.code === 'EPIPE') process.exit(EXIT.done);
  throw error;
});

process.exitCode = await runCommand(process.argv.slice(2), {
  out: (text) => process.stdout.write(text),
  err: (text) => process.stderr.write(text),
  bar: process.stderr.isTTY ? process.stderr : null,
  colour: process.stdout.isTTY && picocolors.isColorSupported,
  demosFolder: join(packageFolder(), 'assets/demos'),
  now_ms: () => performance.now(),
  interrupted: () => interrupted_ms !== null,
});

/** Where the package lies: this file may stand in its sources or in what was built from them. */
function packageFolder(): string {
  let folder = import.meta.dirname;
  while (!existsSync(join(folder, 'package.json')) && dirname(folder) !== folder) folder = dirname(folder);
  return folder;
}
