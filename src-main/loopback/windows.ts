/** Which windows live: each holds one socket open as long as it does. */
import type { IncomingMessage } from 'node:http';
import type { Duplex } from 'node:stream';
import { WebSocketServer } from 'ws';
import type { Gate } from './gate.ts';

export class Windows {
  private readonly sockets = new WebSocketServer({ noServer: true, maxPayload: 1024 });
  private timer: NodeJS.Timeout | undefined;
  private open = 0;

  /**
   * `onFirst` is called when the first window is there; `onNone` when the last one has been gone for `grace_ms`, which
   * leaves time for a page to be loaded again.
   */
  constructor(
    private readonly gate: Gate,
    private readonly grace_ms: number,
    private readonly onFirst: () => void,
    private readonly onNone: () => void,
  ) {}

  /** Takes the upgrade of a request to a socket, or refuses it. */
  upgrade(request: IncomingMessage, stream: Duplex, head: Buffer): void {
    const { gate } = this;
    const address = new URL(request.url ?? '/', gate.origin);
    const welcome =
      gate.isOurHost(request.headers.host) &&
      gate.isOurOrigin(request.headers.origin) &&
      address.pathname === '/alive' &&
      gate.isToken(address.searchParams.get('token') ?? undefined);
    if (!welcome) {
      stream.end('HTTP/1.1 403 Forbidden\r\nConnection: close\r\nContent-Length: 0\r\n\r\n');
      return;
    }
    this.sockets.handleUpgrade(request, stream, head, (socket) => {
      this.arrived();
      socket.on('close', () => this.left());
      // An error is followed by a close, which is all that matters here.
      socket.on('error', () => undefined);
    });
  }

  private arrived(): void {
    clearTimeout(this.timer);
    this.open += 1;
    if (this.open === 1) this.onFirst();
  }

  private left(): void {
    this.open -= 1;
    if (this.open === 0) this.timer = setTimeout(this.onNone, this.grace_ms);
  }

  /** Closes every socket. */
  close(): void {
    for (const socket of this.sockets.clients) socket.terminate();
    clearTimeout(this.timer);
    this.sockets.close();
  }
}
