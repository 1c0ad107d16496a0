/** The only door to the desktop side. Electron's preload or the loopback host stands behind it; the window need not know. */
import {
  channels,
  type Answer,
  type Channel,
  type Request,
  type Response,
} from '../../core/contract/channels.ts';

export interface Host {
  /** Asks the desktop side. Rejects with HostError, whose message is a sentence for people. */
  request<C extends Channel>(channel: C, payload: Request<C>): Promise<Response<C>>;
}

export class HostError extends Error {
  constructor(
    readonly code: string,
    message: string,
  ) {
    super(message);
    this.name = 'HostError';
  }
}

type Send = (channel: Channel, payload: unknown) => Promise<unknown>;

/** A host over any way of sending: answers are parsed before they are trusted. */
export function hostOver(send: Send): Host {
  return {
    async request<C extends Channel>(channel: C, payload: Request<C>): Promise<Response<C>> {
      const answer = (await send(channel, payload)) as Answer<C>;
      if (!answer.ok) throw new HostError(answer.code, answer.message);
      const parsed = channels[channel].response.safeParse(answer.value);
      if (!parsed.success) {
        throw new HostError(
          'badResponse',
          `The desktop side answered "${channel}" with something unexpected.`,
        );
      }
      return parsed.data as Response<C>;
    },
  };
}

/** What Electron's preload puts on the window: one function a channel. */
type Preload = Record<Channel, (payload: unknown) => Promise<unknown>>;

/**
 * The host of this window: the preload's where there is one, else the loopback host that served the page. Its token comes
 * in the address's fragment, which is never sent anywhere, and is taken out of sight at once.
 */
export function connect(): Host {
  const preload = (globalThis as { plumeline?: Preload }).plumeline;
  if (preload !== undefined) return hostOver((channel, payload) => preload[channel](payload));
  const token =
    new URLSearchParams(location.hash.slice(1)).get('token') ?? sessionStorage.getItem('token') ?? '';
  sessionStorage.setItem('token', token);
  history.replaceState(null, '', location.pathname);
  keepAlive(token);
  return hostOver(async (channel, payload) => {
    let reply: globalThis.Response;
    try {
      reply = await fetch(`/api/${channel}`, {
        method: 'POST',
        headers: { 'content-type': 'application/json', authorization: `Bearer ${token}` },
        body: JSON.stringify(payload),
      });
    } catch {
      throw new HostError(
        'unreachable',
        'The desktop side does not answer any more; save nothing and start again.',
      );
    }
    return reply.json();
  });
}

/** An open socket tells the loopback host that its window lives; it ends when the last one closes. */
function keepAlive(token: string): void {
  const socket = new WebSocket(`ws://${location.host}/alive?token=${encodeURIComponent(token)}`);
  addEventListener('pagehide', () => socket.close());
}
