/** How the command ends: what its exit codes mean, and the failure that carries one. */

export const EXIT = {
  done: 0,
  /** Something outside the study, or a fault of the program. */
  fault: 1,
  badInput: 2,
  noAnswer: 3,
  cancelled: 130,
} as const;
export type ExitCode = (typeof EXIT)[keyof typeof EXIT];

export const EXIT_HELP = `
Exit codes:
  0    done
  1    the output cannot be written, or a fault of the program
  2    bad input: arguments, file or study; one sentence a mistake on standard error
  3    no answer: a flight broke off, a solve found none, or a published check fails; the report says why
  130  cancelled by Ctrl-C, which ends between two solves, or at once when pressed twice; nothing is written, but for the
       part file of a spread and what was recorded of a film, which can be continued`;

/** Ends the command with a code and sentences for people, one a line. */
export class CommandFailure extends Error {
  readonly code: ExitCode;
  constructor(code: ExitCode, message: string) {
    super(message);
    this.name = 'CommandFailure';
    this.code = code;
  }
}

/** A value on the command line that is not allowed, in one sentence. */
export function badInput(where: string, received: string, allowed: string): CommandFailure {
  return new CommandFailure(EXIT.badInput, `${where}: received ${received}, allowed is ${allowed}.`);
}
