#!/usr/bin/env node
// The command: sets the project up where that is needed, and hands over to what was built.
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { ROOT, setUpOrExit } from './setup.mjs';

await setUpOrExit();
await import(pathToFileURL(join(ROOT, 'out/main/cli.js')).href);
