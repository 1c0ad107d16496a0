/** The built window, as both hosts hand it out: its files, and under which rules they run. */
import { readFile, realpath } from 'node:fs/promises';
import { extname, isAbsolute, join, relative } from 'node:path';
import { codeOf } from './failure.ts';

export interface PageFile {
  readonly body: Buffer<ArrayBuffer>;
  readonly type: string;
}

/** What the window consists of. A file with another ending is not handed out. */
const TYPES: Record<string, string> = {
  '.css': 'text/css; charset=utf-8',
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.png': 'image/png',
  '.svg': 'image/svg+xml',
  '.woff': 'font/woff',
  '.woff2': 'font/woff2',
};

/**
 * A file of the window by the path of its address, `/` being the page itself. Null when there is no such file, also for
 * a path that leads out of the folder by any way: dots, escapes, backslashes, links.
 */
export async function readPageFile(folder: string, address: string): Promise<PageFile | null> {
  const parts = partsOf(address === '/' ? '/index.html' : address);
  const type = TYPES[extname(parts?.at(-1) ?? '')];
  if (parts === undefined || type === undefined) return null;
  try {
    const root = await realpath(folder);
    const path = await realpath(join(root, ...parts));
    const inside = relative(root, path);
    if (inside.startsWith('..') || isAbsolute(inside)) return null;
    return { body: await readFile(path), type };
  } catch (error) {
    if (['ENOENT', 'ENOTDIR', 'EISDIR', 'ENAMETOOLONG'].includes(codeOf(error) ?? '')) return null;
    throw error;
  }
}

function partsOf(address: string): string[] | undefined {
  let path: string;
  try {
    path = decodeURIComponent(address);
  } catch {
    return undefined;
  }
  if (!path.startsWith('/') || path.includes('\\') || path.includes('\0') || path.includes(':'))
    return undefined;
  const parts = path.slice(1).split('/');
  return parts.some((part) => part === '' || part === '.' || part === '..') ? undefined : parts;
}

/**
 * The headers of every answer. `sockets` is the one address to which the window may open a socket; null where it opens
 * none. The policy is that of src-renderer/index.html, and what only a header can say.
 */
export function pageHeaders(sockets: string | null): Record<string, string> {
  const policy = [
    "default-src 'self'",
    "style-src 'self' 'unsafe-inline'",
    "img-src 'self' data: blob:",
    "font-src 'self' data:",
    "worker-src 'self' blob:",
    `connect-src 'self'${sockets === null ? '' : ` ${sockets}`}`,
    "object-src 'none'",
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
  ];
  return {
    'content-security-policy': policy.join('; '),
    'x-content-type-options': 'nosniff',
    'referrer-policy': 'no-referrer',
    'cross-origin-opener-policy': 'same-origin',
    'cross-origin-embedder-policy': 'require-corp',
    'cross-origin-resource-policy': 'same-origin',
    'permissions-policy': 'camera=(), geolocation=(), microphone=(), usb=(), serial=(), hid=(), midi=()',
    'cache-control': 'no-store',
  };
}
