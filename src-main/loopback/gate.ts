/** Who may ask: this start's token, by the very address that this host serves, from the page that it served. */
import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';

export class Gate {
  /** Sent with every request; in the page's address behind the `#`, which browsers keep to themselves. */
  readonly token = newSecret();
  private ticket: { readonly secret: string; readonly page: string } | null = null;

  /** `port` of 127.0.0.1. */
  constructor(private readonly port: number) {}

  /** The one origin of the page. No other name of this machine will do: a foreign name may be made to lead here. */
  get origin(): string {
    return `http://127.0.0.1:${this.port}`;
  }

  get socketOrigin(): string {
    return `ws://127.0.0.1:${this.port}`;
  }

  /** The address of the window. */
  get address(): string {
    return `${this.origin}/#token=${this.token}`;
  }

  /**
   * An address that leads to the window once. It may stand on a browser's command line, which every user of the machine
   * can read: when the window is open it is worth nothing any more. `page` is the page's path.
   */
  issueTicket(page = '/'): string {
    this.ticket = { secret: newSecret(), page };
    return `${this.origin}/open/${this.ticket.secret}`;
  }

  /** The page's path if this is the ticket, which is spent then; else null. */
  takeTicket(ticket: string): string | null {
    if (this.ticket === null || !sameSecret(ticket, this.ticket.secret)) return null;
    const { page } = this.ticket;
    this.ticket = null;
    return page;
  }

  isOurHost(host: string | undefined): boolean {
    return host === `127.0.0.1:${this.port}`;
  }

  isOurOrigin(origin: string | undefined): boolean {
    return origin === this.origin;
  }

  isToken(token: string | undefined): boolean {
    return token !== undefined && sameSecret(token, this.token);
  }
}

/** 256 random bits, as letters that may stand in an address. */
function newSecret(): string {
  return randomBytes(32).toString('base64url');
}

/** Compares in a time that does not depend on where they differ. */
function sameSecret(given: string, secret: string): boolean {
  const digest = (text: string): Buffer => createHash('sha256').update(text).digest();
  return timingSafeEqual(digest(given), digest(secret));
}
