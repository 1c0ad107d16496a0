// `npm start`: sets the project up and opens it.
import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { ROOT, setUpOrExit } from './setup.mjs';

/** What is opened: until the window exists, the demo is solved and swept in the terminal. */
const OPENS = [join(ROOT, 'out/main/cli.js'), 'sweep', 'heavy'];

await setUpOrExit();
const child = spawn(process.execPath, [...OPENS, ...process.argv.slice(2)], { stdio: 'inherit' });
// The terminal sends Ctrl-C to both: the child decides how to end, and this process follows it.
process.on('SIGINT', () => undefined);
process.exitCode = await new Promise((resolve, reject) => {
  child.on('error', reject);
  child.on('close', (code) => {
    resolve(code ?? 1);
  });
});
