/** The window's files under a scheme of their own, so that the page has an origin and needs no server. */
import { protocol } from 'electron';
import { pageHeaders, readPageFile } from '../host/pageFiles.ts';

const SCHEME = 'plumeline';
const HOST = 'app';
export const PAGE_ORIGIN = `${SCHEME}://${HOST}`;

/** To be called before the app is ready. */
export function registerScheme(): void {
  protocol.registerSchemesAsPrivileged([
    { scheme: SCHEME, privileges: { standard: true, secure: true, supportFetchAPI: true, codeCache: true } },
  ]);
}

/** Hands out the files of `folder`. */
export function servePages(folder: string): void {
  const headers = pageHeaders(null);
  protocol.handle(SCHEME, async (request) => {
    const address = new URL(request.url);
    if (address.host !== HOST || request.method !== 'GET')
      return new Response(null, { status: 403, headers });
    const file = await readPageFile(folder, address.pathname);
    if (file === null) return new Response(null, { status: 404, headers });
    return new Response(file.body, { headers: { ...headers, 'content-type': file.type } });
  });
}
