import { CommandFailure, EXIT } from './exit.ts';

/** What the command needs of the place that it runs in, so that a test can stand one up. */
export interface Terminal {
  readonly out: (text: string) => void;
  readonly err: (text: string) => void;
  /** Standard error where it is a terminal that a moving bar can be drawn on, else null. */
  readonly bar: NodeJS.WritableStream | null;
  /** Whether standard output takes colours. */
  readonly colour: boolean;
  readonly demosFolder: string;
  /** A clock that never goes back, ms. */
  readonly now_ms: () => number;
  /** Whether Ctrl-C was pressed. */
  readonly interrupted: () => boolean;
}

/** Lets a waiting interruption in, and ends the command when there is one. */
export async function pause(terminal: Terminal): Promise<void> {
  await new Promise((resume) => setImmediate(resume));
  if (terminal.interrupted()) throw new CommandFailure(EXIT.cancelled, 'cancelled; nothing was written');
}
