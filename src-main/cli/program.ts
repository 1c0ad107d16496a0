/** The command's words: what it understands, and what becomes of a failure. */
import { dirname } from 'node:path';
import { Command, CommanderError, Option } from 'commander';
import { PlanError } from '../../core/flight/planTypes.ts';
import { PartingError } from '../../core/parting/links.ts';
import { GapError } from '../../core/study/gap.ts';
import { NumberError } from '../../core/study/numbers.ts';
import { PartError } from '../../core/study/spread/part.ts';
import { SpreadError } from '../../core/study/spread/plan.ts';
import { ModesError } from '../../core/study/modes.ts';
import { BalanceError } from '../../core/vehicle/balance.ts';
import { calibrateCommand, type CalibrateOptions } from './calibrate.ts';
import { sweepCoupled } from './coupled.ts';
import { check, CHECK_FORMATS, type CheckOptions } from './check.ts';
import { badInput, CommandFailure, EXIT, EXIT_HELP, type ExitCode } from './exit.ts';
import { claim, type ClaimOptions } from './claim.ts';
import { film, readFilm, type FilmOptions } from './film.ts';
import { fly } from './fly.ts';
import { openStudy, readLength, type OpenedStudy, type StudyOptions } from './openStudy.ts';
import { modes } from './modes.ts';
import { part, type PartRequest } from './part.ts';
import { payload } from './payload.ts';
import { deliver, type OutputOptions, type Report } from './report.ts';
import { evenOut, rates, type RatesOptions } from './rates.ts';
import { map, readMap, type MapOptions } from './map.ts';
import { readNumberSweep, sweepNumber } from './numberSweep.ts';
import { merge, spread } from './spread.ts';
import { readSpread, type SpreadOptions } from './spreadOptions.ts';
import { planName, returnHome } from './return.ts';
import { noted } from './solve.ts';
import { sweep } from './sweep.ts';
import { readSweep, type SweepOptions } from './sweepOptions.ts';
import type { Terminal } from './terminal.ts';

const STUDY_WORDS = "the path of a study file (*.plumeline.json) or a demo's name";

/** Runs the command with its arguments and says how it ended. Never throws. */
export async function runCommand(args: readonly string[], terminal: Terminal): Promise<ExitCode> {
  let exit: ExitCode = EXIT.done;
  const perform = async (
    name: string,
    options: StudyOptions & OutputOptions,
    compute: (opened: OpenedStudy) => Promise<Report>,
    /** It solves again and again: what that does about returns is said once. */
    many = false,
  ): Promise<void> => {
    const opened = await openStudy(terminal, name, options);
    const report = await compute(opened);
    exit = await deliver(terminal, opened, many ? noted(opened, report) : report, options);
  };
  const program = new Command('plumeline')
    .description('What a way of staging is worth: flies a study, solves for its payload, sweeps its gap.')
    .addHelpText('after', EXIT_HELP);
  configure(program, terminal);

  const add = (name: string, words: string): Command => {
    const command = program
      .command(name)
      .description(words)
      .argument('<STUDY>', STUDY_WORDS)
      .addOption(new Option('--json', 'print JSON; null is no number').conflicts('csv'))
      .option('--csv', 'print CSV, numbers in full')
      .option('--set <path=value>', 'change one value first, units as you like; may be given again', collect)
      .option('--event <id>', "which event's gap is meant; the study's first when left out")
      .option('--out <file>', 'write to a file, whole or not at all')
      .addHelpText('after', EXIT_HELP);
    configure(command, terminal);
    return command;
  };
  const gap = ['--gap <time>', 'the staging gap; negative for an overlap, such as -2 or "250 ms"'] as const;

  const withReturn = [
    '--with-return [plan]',
    "solve with this return in the same problem; the study's first chosen when none is named",
  ] as const;

  add('fly', "fly the study's own numbers")
    .option(...gap)
    .option('--solve', 'fly the answer with the most payload instead')
    .action((name: string, options: StudyOptions & OutputOptions & { solve?: boolean }) =>
      perform(name, options, (opened) => fly(terminal, opened, options.solve === true)),
    );
  add('payload', 'solve for the most payload that reaches the target orbit')
    .option(...gap)
    .option(
      '--restarts [count]',
      'solve again from so many starts around the answer; 10 when no count is given',
    )
    .action((name: string, options: StudyOptions & OutputOptions & { restarts?: string | true }) => {
      const restarts = readCount('--restarts', options.restarts, 10);
      return perform(name, options, (opened) => payload(terminal, opened, restarts));
    });
  add('modes', "hold the study's ways of staging against each other, the payload re-solved for each")
    .option(...withReturn)
    .action((name: string, options: StudyOptions & OutputOptions & WithReturn) =>
      perform(name, options, (opened) => modes(terminal, opened, returnOf(opened, options)), true),
    );
  add('part', 'work out how bodies come apart at a parting, and whether they touch again')
    .option(...gap)
    .option('--link <body>', 'the body whose link is undone; the first with mechanisms when left out')
    .option('--failed-spring [count]', 'so many springs or pushers give nothing; 1 when no count is given')
    .option('--clearance <length>', 'gap that must be open before the upper body thrusts', '2 m')
    .action((name: string, options: StudyOptions & OutputOptions & PartOptions) =>
      perform(name, options, async (opened) => part(terminal, opened, await readPart(options))),
    );
  add('return', 'solve for the propellant that a flight home takes')
    .option(...gap)
    .option('--plan <name>', "which of the study's returns; its first chosen when left out")
    .option('--together', 'in one problem with the ascent, which then changes; with what that is worth')
    .action((name: string, options: StudyOptions & OutputOptions & { plan?: string; together?: boolean }) =>
      perform(name, options, (opened) => returnHome(terminal, opened, options)),
    );
  add('sweep', 'solve for the payload at each of several staging gaps, or values of any number')
    .option('--of <path>', 'the number to vary, by its path, between --from and --to in its own unit')
    .option('--points <number>', 'with --of, how many values', '11')
    .option('--at <percent>', 'with --of, read off where so many per cent of the reference are left')
    .option('--from <time>', 'first gap', '0')
    .option('--to <time>', 'last gap', '30')
    .option('--step <time>', 'from gap to gap', '5')
    .addOption(
      new Option('--gaps <list>', 'the gaps themselves, such as -2,0,5').conflicts(['from', 'to', 'step']),
    )
    .option('--modes <list>', 'ways to treat the steering', 'reoptimised,held,fixed')
    .option('--reference <time>', 'the gap that is 100 %; 0 where it is among the gaps, else the first')
    .addOption(new Option(...withReturn).conflicts(['of', 'points', 'at']))
    .action((name: string, options: StudyOptions & OutputOptions & SweepOptions & WithReturn) =>
      perform(
        name,
        options,
        async (opened) => {
          const plan = returnOf(opened, options);
          if (plan !== null) return sweepCoupled(terminal, opened, await readSweep(opened, options), plan);
          return options.of === undefined
            ? sweep(terminal, opened, await readSweep(opened, options))
            : sweepNumber(terminal, opened, await readNumberSweep(opened, options));
        },
        options.withReturn === undefined,
      ),
    );
  add('map', 'solve for the payload over two numbers')
    .requiredOption('--x <path=from:to>', 'the number along a row and its range, in units as you like')
    .requiredOption('--y <path=from:to>', 'the number from row to row')
    .option('--points <n>', 'how many values of each', '25')
    .option('--threads <number>', 'threads; the result is the same with any number of them')
    .action((name: string, options: StudyOptions & OutputOptions & MapOptions) =>
      perform(name, options, async (opened) => map(terminal, opened, await readMap(opened, options)), true),
    );
  add('spread', 'the band of the payload when all uncertain numbers vary together')
    .option('--members <from:to>', 'which members, the last not included; or how many', '256')
    .option('--gaps <list>', 'compare these gaps, the first with each other one, such as 10,-1.5')
    .option('--case <name: changes>', 'compare this case, such as "light: path=value; path=value"', collect)
    .option('--seed <number>', 'which scrambling of the points', '1')
    .option('--indices', 'take the variance apart by input; k + 2 times the solves')
    .option('--threads <number>', 'threads; the result is the same with any number of them')
    .option('--resume', 'continue the part file named by --out, where there is one')
    .action((name: string, options: StudyOptions & OutputOptions & SpreadOptions) =>
      // Its --out is the part file; the report goes to standard output.
      perform(
        name,
        { ...options, out: undefined },
        async (opened) => spread(terminal, opened, await readSpread(opened, options)),
        true,
      ),
    );
  add('rates', 'what a unit more of each number of the study is worth in payload')
    .option(...gap)
    .option('--find <text>', 'only numbers whose path has these words')
    .option('--verify', 'solve again on both sides of each number')
    .option('--change <path=value>', 'break even: the change to be made up for; with --against')
    .option('--against <path>', 'break even: the number that makes up for it')
    .action((name: string, options: StudyOptions & OutputOptions & RatesOptions) =>
      perform(
        name,
        options,
        async (opened) =>
          options.change === undefined && options.against === undefined
            ? rates(terminal, opened, options)
            : evenOut(terminal, opened, options),
        true,
      ),
    );
  add('claim', 'judge a claim of the study: band on the gain, read-off, verdict and why')
    .option('--claim <id>', 'which claim; the first when left out')
    .option('--members <number>', 'members of the spread', '256')
    .option('--seed <number>', 'which scrambling of the points', '1')
    .option('--threads <number>', 'threads; the result is the same with any number of them')
    .action((name: string, options: StudyOptions & OutputOptions & ClaimOptions) =>
      perform(name, options, (opened) => claim(terminal, opened, options), true),
    );
  add('film', "record the study's film; a study without one is told from liftoff to the answer")
    .option(...gap)
    .option('--size <size>', '720p, 1080p, 1440p, 4k or width x height; tall and square ones too', '1080p')
    .option('--rate <rate>', 'pictures a second: 24, 25, 29.97, 30, 50, 60 or a ratio', '30')
    .option('--length <time>', 'length of a film that is told by itself', '60 s')
    .addOption(new Option('--sheet <sheet>', 'ground and colours').choices(['paper', 'night']))
    .addOption(new Option('--codec <codec>', 'AV1 instead of VP9 in .webm').choices(['av1']))
    .option('--alpha', 'words, figures and braid alone, on transparency')
    .option('--still <time>', 'only this picture; may be given again', collect)
    .option('--sound <file>', 'a WAV or MP3 to lie under it')
    .addOption(new Option('--frame-code', 'squares that a program can read').hideHelp())
    .action((name: string, options: StudyOptions & OutputOptions & FilmOptions) =>
      // Its --out is the film; the report goes to standard output.
      perform(name, { ...options, out: undefined }, async (opened) =>
        film(terminal, dirname(dirname(terminal.demosFolder)), opened, await readFilm(opened, options)),
      ),
    );
  const merging = program
    .command('merge')
    .description('put part files of one spread together; they are the same bytes as those of the whole')
    .argument('<PART...>', 'part files that spread has written')
    .addOption(new Option('--json', 'print JSON; null is no number').conflicts('csv'))
    .option('--csv', 'print CSV, numbers in full')
    .option('--out <file>', 'write the whole as a part file')
    .addHelpText('after', EXIT_HELP)
    .action(async (names: string[], options: OutputOptions) => {
      const { report, header } = await merge(terminal, names, options.out);
      const subject = { study: { title: header.title }, hash: header.inputsHash };
      exit = await deliver(terminal, subject, report, { ...options, out: undefined });
    });
  configure(merging, terminal);
  add(
    'calibrate',
    'fit inputs of the study to observed points of its flight; --out writes the calibrated study',
  )
    .requiredOption(
      '--points <file>',
      'CSV; the header names columns with units: time [s], speed [m/s], speed error [m/s]',
    )
    .requiredOption('--fit <list>', 'paths of the inputs, such as vehicle.bodies.upper.dryMass_kg')
    .action((name: string, options: StudyOptions & OutputOptions & CalibrateOptions) =>
      // Its --out is the calibrated study; the report goes to standard output.
      perform(name, { ...options, out: undefined }, (opened) => calibrateCommand(terminal, opened, options)),
    );
  const checking = program
    .command('check')
    .description('hold what the program computes against published numbers; 3 when one fails')
    .addOption(
      new Option('--format <form>', 'how the report is written').choices(CHECK_FORMATS).default('text'),
    )
    .option('--only <list>', 'some of the checks, such as as506,kepler')
    .option('--out <file>', 'write to a file, whole or not at all')
    .addHelpText('after', EXIT_HELP)
    .action(async (options: CheckOptions) => {
      exit = await check(terminal, options);
    });
  configure(checking, terminal);

  try {
    await program.parseAsync(args, { from: 'user' });
    return exit;
  } catch (error) {
    return tell(error, terminal);
  }
}

interface WithReturn {
  readonly withReturn?: string | true;
}

/** The return that is to be coupled, null for none. */
function returnOf(opened: OpenedStudy, { withReturn }: WithReturn): string | null {
  if (withReturn === undefined) return null;
  return planName(opened, withReturn === true ? undefined : withReturn, '--with-return');
}

interface PartOptions {
  readonly link?: string;
  readonly failedSpring?: string | true;
  readonly clearance: string;
}

async function readPart(options: PartOptions): Promise<PartRequest> {
  const { failedSpring, link } = options;
  const failed = readCount('--failed-spring', failedSpring, 1);
  const clearance_m = await readLength('--clearance', options.clearance);
  if (!(clearance_m > 0))
    throw badInput('--clearance', JSON.stringify(options.clearance), 'a length above 0');
  return { failed, clearance_m, ...(link === undefined ? {} : { link }) };
}

/** A count that may be left out (0) or given without a number (`usual`). */
function readCount(name: string, given: string | true | undefined, usual: number): number {
  if (given === undefined) return 0;
  const count = given === true ? usual : Number(given);
  if (Number.isInteger(count) && count >= 0) return count;
  throw badInput(name, JSON.stringify(given), 'a whole number of at least 0');
}

function collect(value: string, before: string[] | undefined): string[] {
  return [...(before ?? []), value];
}

function configure(command: Command, terminal: Terminal): void {
  command.exitOverride().configureOutput({
    writeOut: terminal.out,
    writeErr: terminal.err,
    outputError: (text, write) => {
      write(`plumeline: ${rephrase(text.replace(/^error: /, '').trim(), command)}\n`);
    },
  });
}

/** The library's words in the form of all other sentences: where, what was received, what is allowed. */
function rephrase(text: string, command: Command): string {
  const [, what, name] = /^unknown (option|command) '([^']*)'/.exec(text) ?? [];
  if (what !== undefined && name !== undefined) {
    const known =
      what === 'option'
        ? ['--help', ...command.options.map((option) => option.long ?? option.flags)]
        : command.commands.map((each) => each.name());
    return `${what} ${name}: received an unknown ${what}, allowed is ${known.join(', ')}.`;
  }
  const missing = /^missing required argument '([^']*)'/.exec(text)?.[1];
  if (missing !== undefined) return `${missing}: received nothing, allowed is ${STUDY_WORDS}.`;
  return /[.?!]$/.test(text) ? text : `${text}.`;
}

/** Says on standard error what went wrong, in a sentence where it is the input's fault. */
function tell(error: unknown, terminal: Terminal): ExitCode {
  // The library has written its own words: a help text that was asked for, or what is wrong.
  if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.done : EXIT.badInput;
  if (error instanceof CommandFailure) {
    terminal.err(error.message.replace(/^/gm, 'plumeline: ') + '\n');
    return error.code;
  }
  if (error instanceof SpreadError || error instanceof PartError) {
    terminal.err(`plumeline: ${error.message}\n`);
    return error instanceof SpreadError && error.code === 'noAnswer' ? EXIT.noAnswer : EXIT.badInput;
  }
  if (
    error instanceof PlanError ||
    error instanceof PartingError ||
    error instanceof ModesError ||
    error instanceof BalanceError ||
    error instanceof GapError ||
    error instanceof NumberError
  ) {
    terminal.err(`plumeline: ${error.message}.\n`);
    return EXIT.badInput;
  }
  terminal.err(
    `plumeline: a fault of the program: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`,
  );
  return EXIT.fault;
}
