/** The services behind the contract, without a word on how requests come and go. */
import { basename, dirname, resolve } from 'node:path';
import type { Request, Response } from '../../core/contract/channels.ts';
import { reasonOf } from './failure.ts';
import type { FilmDesk } from './filmDesk.ts';
import { FilmSinks, type FilmMachine } from './filmSinks.ts';
import { exists, isFolder, listFolder, parentOf, pathInFolder, shownFolder } from './folders.ts';
import type { Remembered } from './remembered.ts';
import type { Handlers } from './serve.ts';
import { readDemo, readTextFile, STUDY_ENDING, writeTextFile } from './studyFiles.ts';
import { listDemos } from '../launch/demos.mjs';
import { readPublished } from './published.ts';
import { TokenBook } from './tokens.ts';

/** Asks the user for a file: the chosen path, or null when the dialog was cancelled. */
export type ChooseFile = (
  wish: Request<'file.choose'> & { readonly folder: string },
) => Promise<string | null>;

export interface Surroundings {
  readonly host: Response<'app.info'>['host'];
  readonly version: string;
  readonly platform: NodeJS.Platform;
  readonly homeFolder: string;
  readonly demosFolder: string;
  readonly remembered: Remembered;
  /** Told what went wrong beside a request that was answered all the same. */
  readonly warn: (sentence: string) => void;
  /** The study named on the command line. */
  readonly startStudy: string | null;
  /** Null where the host has no dialog of its own. */
  readonly choose: ChooseFile | null;
  /** The film that the window is opened for; left out in a window for people. */
  readonly film?: FilmDesk;
  readonly filmMachine?: FilmMachine;
  /** What writes films, for whoever closes what a window leaves open. */
  readonly filmSinks?: FilmSinks;
}

export function makeHandlers(surroundings: Surroundings): Handlers {
  const { remembered, homeFolder, platform } = surroundings;
  const tokens = new TokenBook();
  const sinks = surroundings.filmSinks ?? new FilmSinks(surroundings.filmMachine);

  const handleOf = (path: string): { token: string; name: string } => ({
    token: tokens.tokenOf('file', path),
    name: basename(path),
  });

  /** Where the last study was, if that folder is still there, else the home folder. */
  const lastFolder = async (): Promise<string> => {
    const [last] = await remembered.recent();
    if (last === undefined) return homeFolder;
    const folder = dirname(last);
    return (await isFolder(folder)) ? folder : homeFolder;
  };

  const noteRecent = async (path: string): Promise<void> => {
    if (!path.endsWith(STUDY_ENDING)) return;
    try {
      await remembered.addRecent(path);
    } catch (error) {
      // The file itself is read or written: that it is not on the list later is no reason to say it failed.
      surroundings.warn(`The list of recent studies is as before: ${reasonOf(error)}`);
    }
  };

  return {
    'app.info': () => Promise.resolve({ version: surroundings.version, host: surroundings.host }),

    'app.startStudy': () =>
      Promise.resolve(surroundings.startStudy === null ? null : handleOf(resolve(surroundings.startStudy))),

    'demo.list': () => listDemos(surroundings.demosFolder),

    'demo.read': ({ id }) => readDemo(surroundings.demosFolder, id),

    'file.choose': async (wish) => {
      if (surroundings.choose === null) return { outcome: 'browse' };
      const path = await surroundings.choose({ ...wish, folder: await lastFolder() });
      if (path === null) return { outcome: 'cancelled' };
      return { outcome: 'chosen', file: handleOf(resolve(path)) };
    },

    'file.read': async ({ token }) => {
      const path = tokens.pathOf('file', token);
      const text = await readTextFile(path);
      await noteRecent(path);
      return { name: basename(path), text };
    },

    'file.write': async ({ token, text, encoding = 'utf8' }) => {
      const path = tokens.pathOf('file', token);
      await writeTextFile(path, text, encoding);
      await noteRecent(path);
      return { name: basename(path) };
    },

    'folder.list': async ({ token }) => {
      const path = token === null ? await lastFolder() : tokens.pathOf('folder', token);
      const { entries, leftOut } = await listFolder(path);
      const parent = parentOf(path);
      return {
        token: tokens.tokenOf('folder', path),
        name: shownFolder(path, homeFolder),
        parent: parent === undefined ? null : tokens.tokenOf('folder', parent),
        entries: entries.map(({ name, kind, path: entry }) => ({
          token: tokens.tokenOf(kind === 'folder' ? 'folder' : 'file', entry),
          name,
          kind,
        })),
        leftOut,
      };
    },

    'folder.file': async ({ folder, name }) => {
      const path = pathInFolder(tokens.pathOf('folder', folder), name, platform);
      return { file: handleOf(path), exists: await exists(path) };
    },

    'recent.list': async () => {
      const paths = await remembered.recent();
      const there = await Promise.all(paths.map(exists));
      return paths
        .filter((_, i) => there[i])
        .map((path) => ({ file: handleOf(path), folder: shownFolder(dirname(path), homeFolder) }));
    },

    'evidence.data': () => readPublished(),

    'film.job': () => {
      const { film } = surroundings;
      return Promise.resolve(film === undefined ? null : { ...film.job, file: handleOf(resolve(film.out)) });
    },

    'film.report': (report) => Promise.resolve({ goOn: surroundings.film?.report(report) ?? true }),

    'film.tools': () => Promise.resolve({ ffmpeg: sinks.ffmpeg !== null }),

    'film.open': ({ token, expected_bytes, ...asked }) =>
      sinks.open(tokens.pathOf('file', token), expected_bytes, asked),

    'film.keep': ({ sink, data, last }) => sinks.keep(sink, Buffer.from(data, 'base64'), last),

    'film.kept': ({ sink, segment, from }) => sinks.kept(sink, segment, from),

    'film.write': ({ sink, picture, position, data, closing }) =>
      sinks.write(sink, picture, position, Buffer.from(data, 'base64'), closing),

    'film.beside': ({ sink, ending, text }) => sinks.beside(sink, ending, text),

    'film.close': ({ sink, keep, later }) => sinks.close(sink, keep, later),

    'settings.read': () => remembered.settings(),

    'settings.write': async (settings) => {
      await remembered.setSettings(settings);
      return {};
    },
  };
}
