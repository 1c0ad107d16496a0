import { join } from 'node:path';

/**
 * @typedef {object} LoopbackHost  The host of an installed browser's window, running.
 * @property {string} address  Of the window, with its token.
 * @property {() => Promise<string>} ticket  An address that leads to the window once.
 * @property {Promise<void>} window  Settles when a window is there.
 * @property {Promise<import('./children.mjs').Ended>} ended
 * @property {() => void} end  Asks it to end.
 */

/**
 * Starts the loopback host.
 *
 * @param {import('./children.mjs').Children} children
 * @param {string} root
 * @param {{ study: string | undefined, stay: boolean, port: string | undefined }} options  With `stay` it does not end
 *   with its window.
 * @returns {Promise<LoopbackHost>}
 * @throws when it ends before it serves.
 */
export async function startLoopback(children, root, options) {
  const args = [join(root, 'out/main/loopback.js')];
  if (options.stay) args.push('--stay');
  if (options.port !== undefined) args.push('--port', options.port);
  if (options.study !== undefined) args.push('--', options.study);
  const { child, ended } = children.begin(process.execPath, args, {
    stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
  });

  /** @typedef {{ kind: 'listening', address: string } | { kind: 'ticket', ticket: string } | { kind: 'window' }} Message */
  /** @type {(kind: Message['kind']) => Promise<Message>} */
  const told = (kind) =>
    new Promise((resolve) => {
      /** @param {unknown} message */
      const listen = (message) => {
        const { kind: heard } = /** @type {Message} */ (message);
        if (heard !== kind) return;
        child.off('message', listen);
        resolve(/** @type {Message} */ (message));
      };
      child.on('message', listen);
    });

  const window = told('window').then(() => undefined);
  const first = await Promise.race([told('listening'), ended]);
  if (!('kind' in first) || first.kind !== 'listening')
    throw new Error('the loopback host could not be started.');
  return {
    address: first.address,
    ticket: async () => {
      const answer = told('ticket');
      child.send('ticket');
      const message = await Promise.race([answer, ended]);
      if ('kind' in message && message.kind === 'ticket') return message.ticket;
      throw new Error('the loopback host has ended.');
    },
    window,
    ended,
    end: () => {
      if (child.connected) child.send('end');
    },
  };
}
