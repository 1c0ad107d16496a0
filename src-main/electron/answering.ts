import { ipcMain, type IpcMainInvokeEvent } from 'electron';
import { channels, type Answer, type Channel } from '../../core/contract/channels.ts';
import type { Serve } from '../host/serve.ts';
import { PAGE_ORIGIN } from './pages.ts';

/** Answers the channels, one handler each. Only the page itself is answered: no frame in it, no other page. */
export function answerWindow(serve: Serve): void {
  for (const channel of Object.keys(channels) as Channel[]) {
    ipcMain.handle(channel, (event, payload: unknown): Promise<Answer<Channel>> => {
      if (isOurPage(event)) return serve(channel, payload);
      const message = 'The desktop side answers its own page only.';
      return Promise.resolve({ ok: false, code: 'refused', message });
    });
  }
}

function isOurPage(event: IpcMainInvokeEvent): boolean {
  const frame = event.senderFrame;
  // A custom scheme has no origin in `URL`, so the address itself is looked at.
  return frame !== null && frame === event.sender.mainFrame && frame.url.startsWith(`${PAGE_ORIGIN}/`);
}
