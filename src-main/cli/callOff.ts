/** Ends work that another program does for the command when it is called off: by Ctrl-C, or by a system that wants it to end. */
import type { ChildProcess } from 'node:child_process';
import type { Terminal } from './terminal.ts';

/** Ctrl-C is looked for so often, ms. */
const LOOK_ms = 100;
const OTHERS = ['SIGTERM', 'SIGHUP'] as const;

export class CallOff {
  private signalled = false;
  private timer: NodeJS.Timeout | undefined;
  private kill: (() => void) | undefined;
  private readonly hear = (): void => {
    this.signalled = true;
  };

  constructor(private readonly terminal: Terminal) {
    for (const signal of OTHERS) process.on(signal, this.hear);
  }

  called(): boolean {
    return this.signalled || this.terminal.interrupted();
  }

  /** Calls `end` once when it is called off: at once while nothing has `begun`, else after `patience_ms`, as a last resort. */
  watch(begun: () => boolean, patience_ms: number, end: () => void): void {
    let called_ms: number | null = null;
    this.timer = setInterval(() => {
      if (!this.called()) return;
      called_ms ??= this.terminal.now_ms();
      if (begun() && this.terminal.now_ms() - called_ms < patience_ms) return;
      clearInterval(this.timer);
      end();
    }, LOOK_ms);
  }

  /** A program that must not outlive the command, even where that ends at once. */
  takesAlong(child: ChildProcess): void {
    this.kill = () => child.kill('SIGKILL');
    process.on('exit', this.kill);
  }

  close(): void {
    clearInterval(this.timer);
    for (const signal of OTHERS) process.off(signal, this.hear);
    if (this.kill !== undefined) process.off('exit', this.kill);
  }
}
