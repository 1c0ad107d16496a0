/** How far a piece of work is and how long it will take yet, on standard error: a bar on a terminal, else plain lines. */
import { SingleBar } from 'cli-progress';
import { pause, type Terminal } from './terminal.ts';

/** Between two plain lines at least this long, ms. */
const QUIET_ms = 1000;

export class Progress {
  private readonly start_ms: number;
  private told_ms: number;
  private bar: SingleBar | null = null;

  constructor(
    private readonly terminal: Terminal,
    /** What is counted. */
    private readonly what = 'solves',
    /** Between two plain lines at least so long, ms. */
    private readonly quiet_ms = QUIET_ms,
  ) {
    this.start_ms = terminal.now_ms();
    this.told_ms = this.start_ms;
  }

  /** `left_ms` where it is known better than by the time since the beginning. */
  update(done: number, of: number, left_ms?: number): void {
    const now_ms = this.terminal.now_ms();
    const left = `${timeLeft(left_ms ?? ((now_ms - this.start_ms) / done) * (of - done))} left`;
    if (this.terminal.bar !== null) {
      if (this.bar === null) {
        this.bar = new SingleBar({
          stream: this.terminal.bar,
          format: `{bar} {value} of {total} ${this.what}, {left}`,
          barCompleteChar: '━',
          barIncompleteChar: '┈',
          barsize: 30,
          clearOnComplete: true,
          hideCursor: true,
          // Ctrl-C is the command's own affair.
          gracefulExit: false,
        });
        this.bar.start(of, done, { left });
      } else this.bar.update(done, { left });
    } else if (now_ms - this.told_ms >= this.quiet_ms && done < of) {
      this.told_ms = now_ms;
      this.terminal.err(`plumeline: ${done} of ${of} ${this.what}, ${left}\n`);
    }
  }

  end(): void {
    this.bar?.stop();
  }
}

/** Works a computation's steps through, telling how far it is and letting Ctrl-C in after each; what it comes to in the end. */
export async function workThrough<Result>(
  terminal: Terminal,
  steps: Iterator<{ readonly done: number; readonly of: number }, Result>,
  what?: string,
): Promise<Result> {
  const progress = new Progress(terminal, what);
  try {
    for (;;) {
      const step = steps.next();
      await pause(terminal);
      if (step.done === true) return step.value;
      progress.update(step.value.done, step.value.of);
    }
  } finally {
    progress.end();
  }
}

/** A span of time in words, from ms. */
function timeLeft(span_ms: number): string {
  const seconds = Math.ceil(span_ms / 1000);
  if (seconds < 1) return 'under 1 s';
  return seconds < 100 ? `about ${seconds} s` : `about ${Math.round(seconds / 60)} min`;
}
