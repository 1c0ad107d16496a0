/** The same flight in other languages, as programs that stay alive and answer by the line. */
import { spawn, type ChildProcessWithoutNullStreams } from 'node:child_process';
import { createInterface } from 'node:readline';

/** What a program says of one batch of runs. */
export interface ReferenceRun {
  readonly rightHandSides: number;
  readonly acceptedSteps: number;
  readonly rejectedSteps: number;
  readonly shortenedSteps: number;
  /** Inertial position (m) and velocity (m/s) at the end. */
  readonly end: readonly number[];
  readonly times_ms: number[];
}

export class ReferenceProgram {
  private readonly child: ChildProcessWithoutNullStreams;
  private readonly lines: AsyncIterator<string>;
  private complaint = '';

  constructor(program: string, args: readonly string[]) {
    this.child = spawn(program, args);
    this.child.on('error', (error) => (this.complaint += error.message));
    this.child.stdin.on('error', (error) => (this.complaint += error.message));
    this.child.stderr.setEncoding('utf8').on('data', (text: string) => (this.complaint += text));
    this.lines = createInterface({ input: this.child.stdout })[Symbol.asyncIterator]();
  }

  /** Runs `fly` (with step-size control) or `refly` (over the same steps) a number of times. Throws when it fails. */
  async run(command: 'fly' | 'refly', count: number): Promise<ReferenceRun> {
    this.child.stdin.write(`${command} ${count}\n`);
    const answer = await this.lines.next();
    if (answer.done === true) throw new Error(`the reference program ended: ${this.complaint.trim()}`);
    const numbers = answer.value.split(' ').map(Number);
    if (numbers.length !== 10 + count || numbers.some(Number.isNaN)) {
      throw new Error(`the reference program answered "${answer.value.slice(0, 200)}"`);
    }
    return {
      rightHandSides: numbers[0]!,
      acceptedSteps: numbers[1]!,
      rejectedSteps: numbers[2]!,
      shortenedSteps: numbers[3]!,
      end: numbers.slice(4, 10),
      times_ms: numbers.slice(10).map((ns) => 1e-6 * ns),
    };
  }

  close(): void {
    this.child.stdin.end();
  }
}

/** Distance (m) and difference in velocity (m/s) of two states. */
export function difference(
  a: ArrayLike<number>,
  b: ArrayLike<number>,
): { position_m: number; speed_mps: number } {
  const apart = (from: number): number =>
    Math.hypot(a[from]! - b[from]!, a[from + 1]! - b[from + 1]!, a[from + 2]! - b[from + 2]!);
  return { position_m: apart(0), speed_mps: apart(3) };
}
