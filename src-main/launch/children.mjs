import { spawn } from 'node:child_process';

/** @typedef {import('node:child_process').ChildProcess} ChildProcess */

const SIGNALS = /** @type {const} */ (['SIGINT', 'SIGTERM', 'SIGHUP']);
/** By the custom of shells: 128 and the signal's number. */
const SIGNAL_CODES = { SIGHUP: 129, SIGINT: 130, SIGTERM: 143 };
/** A program that was asked to end is given so long. */
const PATIENCE_MS = 5_000;

/**
 * @typedef {object} Ended  How a program ended.
 * @property {number | null} code
 * @property {NodeJS.Signals | null} signal
 * @property {Error} [fault]  Why it could not be started.
 */

/**
 * @param {Ended} ended
 * @returns {string} Completes "it ended with …".
 */
export function howEnded({ code, signal }) {
  return signal ?? `exit code ${String(code)}`;
}

/** The programs that a start has begun, which must not outlive it. */
export class Children {
  /** The signal that has called the start off. @type {typeof SIGNALS[number] | undefined} */
  signal;
  /** @type {Map<ChildProcess, Promise<Ended>>} */
  #living = new Map();
  /** @type {(() => void)[]} */
  #onSignal = [];

  /** Passes signals on to all that was begun, once for each; who waits on a program then sees it end. */
  watchSignals() {
    for (const signal of SIGNALS) {
      process.on(signal, () => {
        this.signal ??= signal;
        for (const child of this.#living.keys()) child.kill(signal);
        for (const call of this.#onSignal.splice(0)) call();
      });
    }
  }

  /** Settles when the start has been called off. @returns {Promise<void>} */
  calledOff() {
    return new Promise((resolve) => {
      if (this.signal !== undefined) resolve();
      else this.#onSignal.push(resolve);
    });
  }

  /**
   * The exit code of the start: that of the signal that called it off, else the given one.
   *
   * @param {number} code
   * @returns {number}
   */
  exitCode(code) {
    return this.signal === undefined ? code : SIGNAL_CODES[this.signal];
  }

  /**
   * @param {string} program
   * @param {readonly string[]} args
   * @param {import('node:child_process').SpawnOptions} options
   * @returns {{ child: ChildProcess, ended: Promise<Ended> }} `ended` never rejects.
   */
  begin(program, args, options) {
    const child = spawn(program, args, options);
    /** @type {Promise<Ended>} */
    const ended = new Promise((resolve) => {
      child.on('error', (fault) => {
        // Also told when a living program could not be signalled: that one is still awaited.
        if (child.pid === undefined) resolve({ code: 127, signal: null, fault });
      });
      child.on('close', (code, signal) => {
        resolve({ code, signal });
      });
    });
    this.#living.set(child, ended);
    void ended.then(() => this.#living.delete(child));
    return { child, ended };
  }

  /**
   * Ends what still runs: first by asking.
   *
   * @returns {Promise<void>} Settles when none is left.
   */
  async endAll() {
    const living = [...this.#living.entries()];
    for (const [child] of living) child.kill('SIGTERM');
    const timer = setTimeout(() => {
      for (const child of this.#living.keys()) child.kill('SIGKILL');
    }, PATIENCE_MS);
    await Promise.all(living.map(([, ended]) => ended));
    clearTimeout(timer);
  }
}
