/** Every request takes this way, whichever host it came by: parsed, answered by its one handler, the response parsed. */
import type { z } from 'zod';
import {
  channels,
  type Answer,
  type Channel,
  type Request,
  type Response,
} from '../../core/contract/channels.ts';
import { HostFailure } from './failure.ts';

/** One handler a channel. A handler fails by throwing HostFailure; whatever else it throws is a fault of the program. */
export type Handlers = { readonly [C in Channel]: (request: Request<C>) => Promise<Response<C>> };

/** Answers a request; never rejects. */
export type Serve = (channel: string, payload: unknown) => Promise<Answer<Channel>>;

/**
 * Serves the contract over handlers. `report` is told of faults of the program, with all that is known of them; the
 * window gets one sentence.
 */
export function serveWith(handlers: Handlers, report: (channel: Channel, fault: unknown) => void): Serve {
  return async (channel, payload) => {
    if (!isChannel(channel)) {
      return {
        ok: false,
        code: 'unknownChannel',
        message: `There is no channel “${channel.slice(0, 100)}”.`,
      };
    }
    const request = channels[channel].request.safeParse(payload);
    if (!request.success) {
      const problem = firstProblem(request.error);
      return {
        ok: false,
        code: 'badRequest',
        message: `The request “${channel}” is not understood: ${problem}.`,
      };
    }
    try {
      const handle = handlers[channel] as (request: unknown) => Promise<unknown>;
      const response = channels[channel].response.safeParse(await handle(request.data));
      if (response.success) return { ok: true, value: response.data };
      report(channel, response.error);
    } catch (error) {
      if (error instanceof HostFailure) return { ok: false, code: error.code, message: error.message };
      report(channel, error);
    }
    return {
      ok: false,
      code: 'internal',
      message: `Something went wrong on the desktop side, in “${channel}”.`,
    };
  };
}

function isChannel(name: string): name is Channel {
  return Object.hasOwn(channels, name);
}

function firstProblem(error: z.ZodError): string {
  const issue = error.issues[0];
  if (issue === undefined) return 'it has another form';
  const path = issue.path.map(String).join('.');
  return `${path === '' ? '' : `${path}: `}${issue.message}`.replace(/\.$/, '');
}
