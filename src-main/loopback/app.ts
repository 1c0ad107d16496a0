/** What the loopback host answers over HTTP. */
import { Hono } from 'hono';
import { bodyLimit } from 'hono/body-limit';
import type { Answer, Channel, HostErrorCode } from '../../core/contract/channels.ts';
import { pageHeaders, readPageFile } from '../host/pageFiles.ts';
import type { Serve } from '../host/serve.ts';
import type { Gate } from './gate.ts';

/** Bytes of the largest request: the longest text that the contract allows, at four bytes a character. */
const LARGEST_BODY = 80_000_000;

/** `report` is told of faults of the program. */
export function loopbackApp(
  gate: Gate,
  serve: Serve,
  pageFolder: string,
  report: (fault: unknown) => void,
): Hono {
  const app = new Hono();
  const headers = Object.entries(pageHeaders(gate.socketOrigin));

  app.use(async (context, next) => {
    for (const [name, value] of headers) context.header(name, value);
    if (!gate.isOurHost(context.req.header('host'))) {
      return context.json(failure('refused', 'This host is asked by its own address only.'), 403);
    }
    // A page of another origin may send requests here, though it cannot read the answers.
    const origin = context.req.header('origin');
    if (origin !== undefined && !gate.isOurOrigin(origin)) {
      return context.json(failure('refused', 'This host answers its own page only.'), 403);
    }
    return next();
  });

  app.use('/api/*', async (context, next) => {
    if (!gate.isOurOrigin(context.req.header('origin'))) {
      return context.json(failure('refused', 'This host answers its own page only.'), 403);
    }
    const token = /^Bearer (.+)$/.exec(context.req.header('authorization') ?? '')?.[1];
    if (!gate.isToken(token)) {
      const sentence = 'This window does not belong to the running program any more; start it again.';
      return context.json(failure('refused', sentence), 401);
    }
    return next();
  });

  app.post(
    '/api/:channel',
    bodyLimit({
      maxSize: LARGEST_BODY,
      onError: (context) => context.json(failure('tooLarge', 'The request is larger than may be.'), 413),
    }),
    async (context) => {
      if (context.req.header('content-type') !== 'application/json') {
        return context.json(failure('badRequest', 'A request is sent as application/json.'), 415);
      }
      let payload: unknown;
      try {
        payload = JSON.parse(await context.req.text());
      } catch {
        return context.json(failure('badRequest', 'The request is no JSON.'), 400);
      }
      return context.json(await serve(context.req.param('channel'), payload));
    },
  );
  app.all('/api/*', (context) =>
    context.json(failure('badRequest', 'Requests are posted to /api/<channel>.'), 405),
  );

  app.get('/open/:ticket', (context) => {
    const page = gate.takeTicket(context.req.param('ticket'));
    if (page === null) return context.text('This address leads to the window once.', 403);
    return context.redirect(`${page}#token=${gate.token}`, 303);
  });

  app.get('*', async (context) => {
    const file = await readPageFile(pageFolder, new URL(context.req.url).pathname);
    if (file === null) return context.text('There is nothing here.', 404);
    return context.body(file.body, 200, { 'content-type': file.type });
  });

  app.notFound((context) => context.text('There is nothing here.', 404));
  app.onError((fault, context) => {
    report(fault);
    return context.json(failure('internal', 'Something went wrong on the desktop side.'), 500);
  });
  return app;
}

function failure(code: HostErrorCode, message: string): Answer<Channel> {
  return { ok: false, code, message };
}
