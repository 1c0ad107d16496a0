/** Electron's program: the services of host/ behind a window of its own. */
import { join } from 'node:path';
import { app } from 'electron';
import { serveDesktop } from '../host/desktop.ts';
import { answerWindow } from './answering.ts';
import { chooseFile } from './dialogs.ts';
import { setMenu } from './menu.ts';
import { registerScheme, servePages } from './pages.ts';
import { openWindow, restrict } from './window.ts';

const root = join(import.meta.dirname, '../..');
const log = (line: string): void => void process.stderr.write(`plumeline: ${line}\n`);

/** The study on the command line: after the program's own path, and after the app's where it is not packed. */
let startStudy = process.argv.slice(app.isPackaged ? 1 : 2).find((word) => !word.startsWith('-')) ?? null;
// macOS hands a double-clicked file over by an event, before the app is ready.
app.on('open-file', (event, path) => {
  event.preventDefault();
  startStudy = path;
});

// Without one where the starter had to: Chromium refuses to run as root in its sandbox.
if (!app.commandLine.hasSwitch('no-sandbox')) app.enableSandbox();
registerScheme();
app.on('window-all-closed', () => app.quit());

function open(): void {
  answerWindow(serveDesktop(root, { host: 'electron', startStudy, choose: chooseFile }, log));
  servePages(join(root, 'out/renderer'));
  restrict();
  setMenu(process.platform);
  openWindow(join(root, 'out/preload/preload.cjs'));
}

app
  .whenReady()
  .then(open)
  .catch((error: unknown) => {
    log(error instanceof Error ? (error.stack ?? error.message) : String(error));
    app.exit(1);
  });
