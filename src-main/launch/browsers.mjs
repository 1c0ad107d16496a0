import { accessSync, constants, existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';

/** Browsers of the Chromium family by the names of their programs, the widest-spread first. */
const PROGRAMS = [
  'google-chrome',
  'google-chrome-stable',
  'chromium',
  'chromium-browser',
  'microsoft-edge',
  'microsoft-edge-stable',
  'brave-browser',
  'vivaldi-stable',
];

/** Where macOS keeps them, below /Applications or the home folder's Applications. */
const MAC_PROGRAMS = [
  'Google Chrome.app/Contents/MacOS/Google Chrome',
  'Chromium.app/Contents/MacOS/Chromium',
  'Microsoft Edge.app/Contents/MacOS/Microsoft Edge',
  'Brave Browser.app/Contents/MacOS/Brave Browser',
  'Vivaldi.app/Contents/MacOS/Vivaldi',
];

/** Where Windows keeps them, below one of its folders for programs. */
const WINDOWS_PROGRAMS = [
  'Google\\Chrome\\Application\\chrome.exe',
  'Chromium\\Application\\chrome.exe',
  'Microsoft\\Edge\\Application\\msedge.exe',
  'BraveSoftware\\Brave-Browser\\Application\\brave.exe',
  'Vivaldi\\Application\\vivaldi.exe',
];

/**
 * The installed browsers that can show an app window, the one to be tried first at the front.
 *
 * @param {NodeJS.Platform} platform
 * @param {NodeJS.ProcessEnv} env  `PLUMELINE_BROWSER` names a program to be used instead of what is found.
 * @param {(path: string) => boolean} [isProgram]
 * @returns {string[]} Paths.
 */
export function findBrowsers(platform, env, isProgram = isExecutable) {
  const own = env.PLUMELINE_BROWSER ?? '';
  if (own !== '') return [own];
  return [...new Set(places(platform, env))].filter(isProgram);
}

/**
 * @param {NodeJS.Platform} platform
 * @param {NodeJS.ProcessEnv} env
 * @returns {string[]}
 */
function places(platform, env) {
  if (platform === 'darwin') {
    const folders = ['/Applications', `${env.HOME ?? ''}/Applications`];
    return MAC_PROGRAMS.flatMap((program) => folders.map((folder) => `${folder}/${program}`));
  }
  if (platform === 'win32') {
    const folders = [env.PROGRAMFILES, env['PROGRAMFILES(X86)'], env.LOCALAPPDATA];
    return WINDOWS_PROGRAMS.flatMap((program) =>
      folders.filter((folder) => folder !== undefined).map((folder) => `${folder}\\${program}`),
    );
  }
  const folders = (env.PATH ?? '').split(delimiter).filter((folder) => folder !== '');
  return PROGRAMS.flatMap((program) => folders.map((folder) => join(folder, program)));
}

/**
 * @typedef {object} MachineFacts
 * @property {NodeJS.Platform} platform
 * @property {boolean} isRoot
 * @property {boolean} hasGpu
 */

/** @returns {MachineFacts} */
export function readMachine() {
  return {
    platform: process.platform,
    isRoot: process.getuid?.() === 0,
    // Elsewhere than on Linux there always is one, or the system stands in for it.
    hasGpu: process.platform !== 'linux' || existsSync('/dev/dri'),
  };
}

/**
 * The command line of a browser that shows one address as an app: no tabs, no address bar, nothing of the user's own
 * browsing, and nothing fetched from anywhere.
 *
 * @param {string} address
 * @param {string} profileFolder  A fresh folder for all that the browser keeps.
 * @param {MachineFacts} machine
 * @param {boolean} [shown]  False for a page that nobody is to see.
 * @returns {string[]}
 */
export function browserArguments(address, profileFolder, machine, shown = true) {
  const args = [
    ...(shown ? [`--app=${address}`] : ['--headless=new', '--mute-audio']),
    `--user-data-dir=${profileFolder}`,
    '--window-size=1440,900',
    '--window-position=0,0',
    '--no-first-run',
    '--no-default-browser-check',
    '--disable-background-networking',
    '--disable-component-update',
    '--disable-default-apps',
    '--disable-extensions',
    '--disable-quic',
    '--disable-sync',
    // A profile for one start has no passwords to be kept in the system's key ring, which would ask for its own.
    '--password-store=basic',
    '--use-mock-keychain',
  ];
  if (machine.platform === 'linux') args.push('--ozone-platform-hint=auto');
  // Chromium refuses to run as root in its sandbox.
  if (machine.platform === 'linux' && machine.isRoot) args.push('--no-sandbox', '--test-type');
  // Drawing through an emulated graphics card takes twenty times as long as without one.
  if (!machine.hasGpu || !shown) args.push('--disable-gpu');
  if (!shown) args.push('--force-color-profile=srgb', address);
  return args;
}

/**
 * @param {string} path
 * @returns {boolean}
 */
function isExecutable(path) {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}
