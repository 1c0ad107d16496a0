/** The host as a program starts it: where things are kept on this machine. */
import { readFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { configFolder } from './configFolder.ts';
import { makeHandlers, type Surroundings } from './handlers.ts';
import { Remembered } from './remembered.ts';
import { serveWith, type Serve } from './serve.ts';

/** `root` is the folder of package.json, out/ and assets/; in an installed program the packed archive. */
export function serveDesktop(
  root: string,
  given: Pick<Surroundings, 'host' | 'startStudy' | 'choose' | 'film' | 'filmSinks'>,
  log: (line: string) => void,
): Serve {
  const home = homedir();
  const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { version: string };
  const handlers = makeHandlers({
    ...given,
    version,
    platform: process.platform,
    homeFolder: home,
    demosFolder: join(root, 'assets/demos'),
    warn: log,
    remembered: new Remembered(configFolder(process.platform, process.env, home), log),
  });
  return serveWith(handlers, (channel, fault) => {
    log(`fault in ${channel}: ${fault instanceof Error ? (fault.stack ?? fault.message) : String(fault)}`);
  });
}
