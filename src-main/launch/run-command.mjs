import { spawn } from 'node:child_process';
import { stripVTControlCharacters } from 'node:util';

/**
 * @typedef {object} Outcome
 * @property {number} code    Exit code; 1 where a signal ended the program.
 * @property {string} output  Standard output and standard error in the order of their arrival.
 */

/**
 * Runs a program to its end and keeps what it prints, without colours.
 *
 * @param {string} program
 * @param {readonly string[]} args
 * @param {{ cwd: string, env?: NodeJS.ProcessEnv, timeLimit_ms?: number }} options
 *   The program is ended after `timeLimit_ms`, and its output then says so.
 * @returns {Promise<Outcome>} Never rejects: a program that cannot be started is an outcome with code 127.
 */
export function runCommand(program, args, options) {
  /** @type {NodeJS.ProcessEnv} */
  const env = { ...(options.env ?? process.env), NO_COLOR: '1' };
  delete env.FORCE_COLOR;
  return new Promise((resolve) => {
    // npm is a batch file on Windows, which only a shell can start. Nothing here passes text from outside.
    const shell = process.platform === 'win32' && program === 'npm';
    const child = spawn(program, args, {
      cwd: options.cwd,
      env,
      stdio: ['ignore', 'pipe', 'pipe'],
      shell,
    });
    /** @type {Buffer[]} */
    const chunks = [];
    child.stdout.on('data', (/** @type {Buffer} */ chunk) => chunks.push(chunk));
    child.stderr.on('data', (/** @type {Buffer} */ chunk) => chunks.push(chunk));

    let note = '';
    const limit = options.timeLimit_ms;
    const timer =
      limit === undefined
        ? undefined
        : setTimeout(() => {
            note = `\nEnded: still running after ${limit / 1000} s.\n`;
            child.kill('SIGKILL');
          }, limit);

    child.on('error', (error) => {
      clearTimeout(timer);
      resolve({ code: 127, output: `${program} cannot be started: ${error.message}\n` });
    });
    child.on('close', (code) => {
      clearTimeout(timer);
      resolve({
        code: code ?? 1,
        output: stripVTControlCharacters(Buffer.concat(chunks).toString('utf8')) + note,
      });
    });
  });
}
