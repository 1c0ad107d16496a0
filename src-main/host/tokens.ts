/**
 * Which token stands for which path. The window never sees a path that it could send back: it holds tokens, which are
 * random, differ from start to start, and are good for what they were given for.
 */
import { randomUUID } from 'node:crypto';
import { HostFailure } from './failure.ts';

type Kind = 'file' | 'folder';

export class TokenBook {
  private readonly paths = new Map<string, { readonly kind: Kind; readonly path: string }>();
  /** The other way round, so that the same path has one token however often it is listed. */
  private readonly tokens: Record<Kind, Map<string, string>> = { file: new Map(), folder: new Map() };

  /** The token of a path, absolute and normalised. */
  tokenOf(kind: Kind, path: string): string {
    const known = this.tokens[kind].get(path);
    if (known !== undefined) return known;
    const token = randomUUID();
    this.tokens[kind].set(path, token);
    this.paths.set(token, { kind, path });
    return token;
  }

  /** The path that a token stands for. Throws HostFailure `unknownToken`, also when the token is one of the other kind. */
  pathOf(kind: Kind, token: string): string {
    const entry = this.paths.get(token);
    if (entry?.kind !== kind) {
      throw new HostFailure('unknownToken', `This ${kind} is not known here any more; choose it again.`);
    }
    return entry.path;
  }
}
