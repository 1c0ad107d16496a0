/** What `fly --solve` and `payload` share: the solve, its flight, and how an answer is put. */
import { compileAnswer, solveAnswer, type StudyAnswer } from '../../core/solve/answer.ts';
import { solveChosenReturns, type ReserveVerdict } from '../../core/solve/chosenReturns.ts';
import type { PayloadOutcome } from '../../core/solve/payload.ts';
import { getsBy, reserveNote, verdictSentence } from '../../core/solve/reserveWords.ts';
import { fixed, tonnes } from '../../core/units/figures.ts';
import { EXIT } from './exit.ts';
import type { OpenedStudy } from './openStudy.ts';
import type { Report } from './report.ts';
import { pause, type Terminal } from './terminal.ts';

export interface Solved extends StudyAnswer {
  /** Whether each body keeps enough for the return that the study chooses for it; empty without an answer. */
  readonly verdicts: readonly ReserveVerdict[];
}

/** Solves cold, with a return that keeps what it takes. Throws CommandFailure when it was cancelled meanwhile. */
export async function solve(terminal: Terminal, { study }: OpenedStudy): Promise<Solved> {
  const compiled = compileAnswer(study);
  await pause(terminal);
  const stop = terminal.interrupted;
  const answer = solveAnswer(compiled, { stop });
  // A signal waits until the solve is over.
  await pause(terminal);
  const returns =
    answer.outcome.status === 'converged' ? solveChosenReturns(answer, { worth: true, stop }) : [];
  await pause(terminal);
  return { ...answer, verdicts: returns.map(({ verdict }) => verdict) };
}

/** What is said of the reserves for returns, a line each. */
export function reserveLines({ verdicts }: Pick<Solved, 'verdicts'>): string[] {
  return verdicts.map(verdictSentence);
}

/** How a command ends with this answer: without one where there is none, or where a reserve is not known to be enough. */
export function endOf(solved: Solved): Pick<Report, 'exit' | 'complaint'> {
  const { outcome, verdicts } = solved;
  if (outcome.status !== 'converged') return { exit: EXIT.noAnswer, complaint: outcome.message };
  const short = verdicts.filter((verdict) => !getsBy(verdict));
  return short.length === 0
    ? { exit: EXIT.done }
    : { exit: EXIT.noAnswer, complaint: short.map(verdictSentence).join(' ') };
}

/** A report of many solves that also says what they do about the returns that the study chooses. */
export function noted({ study }: OpenedStudy, report: Report): Report {
  const note = reserveNote(study);
  if (note === null) return report;
  return {
    ...report,
    json: () => ({ ...report.json(), returns: note }),
    people: () => `${report.people()}\n\n${note}`,
  };
}

/** The answer in a sentence, or why there is none; and at once whether a body is short of propellant for its return. */
export function answerSentence(
  opened: OpenedStudy,
  outcome: PayloadOutcome,
  verdicts: readonly ReserveVerdict[] = [],
): string {
  const short = verdicts.filter((verdict) => !getsBy(verdict)).map(verdictSentence);
  return [ascentSentence(opened, outcome), ...short].join('\n');
}

function ascentSentence(opened: OpenedStudy, outcome: PayloadOutcome): string {
  const { title } = opened.study;
  if (outcome.status !== 'converged') return `${title}: no answer. ${outcome.message}`;
  const goal = opened.study.goal ?? 'mostPayload';
  const binding = outcome.limits.filter(({ binds }) => binds).map(({ words }) => words);
  const held = binding.length === 0 ? '' : ` Held back by: ${binding.join('; ')}.`;
  if (goal === 'mostFinalMass') {
    return `${title}: with ${tonnes(outcome.payload_kg)} t of payload, ${tonnes(outcome.finalMass_kg)} t reach the orbit (${fixed(outcome.finalMass_kg, 1)} kg, the most mass at insertion; no error band).${held}`;
  }
  if (goal === 'leastPropellant') {
    return `${title}: ${tonnes(outcome.payload_kg)} t of payload reach the orbit with ${tonnes(outcome.propellant_kg)} t of propellant burned (${fixed(outcome.propellant_kg, 1)} kg, the least; no error band).${held}`;
  }
  return `${title}: ${tonnes(outcome.payload_kg)} t of payload reach the orbit (${fixed(outcome.payload_kg, 1)} kg; no error band).${held}`;
}

/** How the solve ended and what it took. */
export function solveLine({ status, message, counts }: PayloadOutcome): string {
  // Without an answer, its reason is the headline.
  const how = status === 'converged' ? `${message} ` : '';
  return (
    `${how}The solve took ${fixed(counts.iterations, 0)} steps, ${fixed(counts.flights, 0)} flights, ` +
    `${fixed(counts.reflights, 0)} over held steps and ${fixed(counts.rightHandSides, 0)} right-hand sides.`
  );
}

/** What `--json` says of a solve, apart from its numbers flown. */
export function outcomeJson(outcome: PayloadOutcome): object {
  const { status, message, payload_kg, finalMass_kg, propellant_kg, kktResidual, feasibility } = outcome;
  const { multipliers_kg, counts } = outcome;
  const limits = status === 'converged' ? outcome.limits : [];
  return {
    status,
    message,
    payload_kg,
    finalMass_kg,
    propellant_kg,
    limits: limits.map(({ limit, ...rest }) => ({ path: limit.path, allowed: limit.value, ...rest })),
    kktResidual,
    feasibility,
    multipliers_kg,
    counts,
  };
}
