// `npm start`: sets the project up and opens it, says where, and ends with its window.
import { openBrowser } from './app-window.mjs';
import { HELP, readArguments } from './arguments.mjs';
import { findBrowsers, readMachine } from './browsers.mjs';
import { Children } from './children.mjs';
import { hasDisplay } from './display.mjs';
import { fetchElectron, findElectron, openElectron } from './electron.mjs';
import { startLoopback } from './loopback.mjs';
import { ROOT, setUpOrExit } from './setup.mjs';
import { serveInTerminal } from './terminal.mjs';

/** Standard output belongs to the address and the sweep. @param {string} line */
const say = (line) => {
  process.stderr.write(`plumeline: ${line}\n`);
};

const { study, places, port, help } = readOrExit();
if (help) {
  process.stdout.write(HELP);
  process.exit(0);
}

const begun = performance.now();
await setUpOrExit();
const children = new Children();
children.watchSignals();
const machine = readMachine();
/** How each place is opened; undefined is answered where it cannot be, which is said then. */
const OPENERS = { electron: tryElectron, browser: tryBrowsers, terminal: openTerminal };
try {
  const code = await open();
  process.exitCode = children.exitCode(code);
} catch (error) {
  say(error instanceof Error ? error.message : String(error));
  process.exitCode = children.exitCode(1);
} finally {
  await children.endAll();
}

/** @returns {Promise<number>} The exit code. */
async function open() {
  const display = hasDisplay(process.platform, process.env);
  if (!display && places === undefined) say('there is no display');
  /** @type {import('./arguments.mjs').Place[]} */
  const order = places ?? (display ? ['electron', 'browser', 'terminal'] : ['terminal']);
  for (const place of order) {
    const code = await OPENERS[place]();
    if (code !== undefined || children.signal !== undefined) return code ?? 1;
  }
  return 1;
}

/** @returns {Promise<number | undefined>} undefined when Electron cannot show the window; that is said then. */
async function tryElectron() {
  const missing = findElectron(ROOT) === undefined ? await fetchElectron(ROOT, say) : undefined;
  const program = findElectron(ROOT);
  if (program === undefined) {
    say(`not in Electron: its runtime is not installed, and ${missing ?? 'it is gone again'}`);
    return undefined;
  }
  say('opening the window in Electron');
  const outcome = await openElectron(
    children,
    program,
    ROOT,
    study,
    machine.platform === 'linux' && machine.isRoot,
  );
  if (outcome.shown) return outcome.code;
  say(`not in Electron: ${outcome.reason}`);
  return undefined;
}

/** @returns {Promise<number | undefined>} undefined when no browser can show the window; that is said then. */
async function tryBrowsers() {
  const browsers = findBrowsers(process.platform, process.env);
  if (browsers.length === 0) say('no browser of the Chromium family was found');
  for (const browser of browsers) {
    const host = await startLoopback(children, ROOT, { study, stay: false, port });
    say(`opening an app window of ${browser}`);
    const outcome = await openBrowser(children, host, browser, machine, () => {
      say(
        `the window is open, ${((performance.now() - begun) / 1000).toFixed(1)} s after the start; it ends with it`,
      );
    });
    if (outcome.shown) return outcome.code;
    say(`not in ${browser}: ${outcome.reason}`);
  }
  return undefined;
}

async function openTerminal() {
  say('in the terminal, without a window');
  const host = await startLoopback(children, ROOT, { study, stay: true, port });
  return serveInTerminal(children, host, ROOT, study, say);
}

/** The command line, or the end of the process with a sentence on what is wrong with it. */
function readOrExit() {
  try {
    // npm changes into the project's folder and says from where.
    return readArguments(process.argv.slice(2), process.env.INIT_CWD ?? process.cwd());
  } catch (error) {
    process.stderr.write(`plumeline: ${error instanceof Error ? error.message : String(error)}\n\n${HELP}`);
    process.exit(2);
  }
}
