/** A result in its three forms, and how it leaves the program; every form carries the caution and the inputs' hash. */
import { CAUTION } from '../../core/contract/caution.ts';
import { HostFailure } from '../host/failure.ts';
import { writeTextFile } from '../host/studyFiles.ts';
import { CommandFailure, EXIT, type ExitCode } from './exit.ts';
import type { Terminal } from './terminal.ts';

export interface Report {
  readonly exit: ExitCode;
  /** Why there is no answer, for standard error; undefined when there is one. */
  readonly complaint?: string;
  /** What `--json` prints beside what every report carries. */
  readonly json: () => object;
  /** The whole CSV text, under the caution and the hash. */
  readonly csv: () => string;
  /** For people, without the last line. */
  readonly people: () => string;
}

/** What a report is of. */
export interface Subject {
  readonly study: { readonly title: string };
  readonly hash: string;
}

export interface OutputOptions {
  readonly json?: boolean;
  readonly csv?: boolean;
  readonly out?: string | undefined;
}

/** Writes a report as asked, to standard output or whole to a file. */
export async function deliver(
  terminal: Terminal,
  opened: Subject,
  report: Report,
  options: OutputOptions,
): Promise<ExitCode> {
  const text = write(opened, report, options);
  if (options.out === undefined) terminal.out(text);
  else {
    try {
      await writeTextFile(options.out, text);
    } catch (error) {
      if (error instanceof HostFailure) throw new CommandFailure(EXIT.fault, `--out: ${error.message}`);
      throw error;
    }
  }
  if (report.complaint !== undefined) terminal.err(`plumeline: ${report.complaint}\n`);
  return report.exit;
}

function write(opened: Subject, report: Report, options: OutputOptions): string {
  if (options.csv === true) return report.csv();
  if (options.json === true) {
    const whole = {
      caution: CAUTION,
      inputs: opened.hash,
      engine: ENGINE,
      study: opened.study.title,
      ...report.json(),
    };
    return `${JSON.stringify(whole, asPlain, 2)}\n`;
  }
  return `${report.people()}\n\nInputs ${opened.hash}\n${CAUTION}\n`;
}

/** Elementary functions differ by an ulp between engines: a result says which it came from. */
const ENGINE = `node ${process.versions.node}, v8 ${process.versions.v8}, ${process.platform} ${process.arch}`;

/** Typed arrays as lists; what is no number as null, which JSON has no other word for. */
function asPlain(_key: string, value: unknown): unknown {
  return value instanceof Float64Array ? [...value] : value;
}
