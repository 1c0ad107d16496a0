/** What `fly --solve` and `payload` share: the solve, its flight, and how an answer is put. */
import { compileStudy, type CompiledStudy } from '../../core/flight/compile.ts';
import { solvePayload, type PayloadOutcome } from '../../core/solve/payload.ts';
import { fixed, tonnes } from '../../core/units/figures.ts';
import type { OpenedStudy } from './openStudy.ts';
import { pause, type Terminal } from './terminal.ts';

export interface Solved {
  readonly compiled: CompiledStudy;
  readonly outcome: PayloadOutcome;
}

/** Solves cold. Throws CommandFailure when it was cancelled meanwhile. */
export async function solve(terminal: Terminal, { study }: OpenedStudy): Promise<Solved> {
  const compiled = compileStudy(study);
  await pause(terminal);
  const outcome = solvePayload(compiled, { stop: terminal.interrupted });
  // A signal waits until the solve is over.
  await pause(terminal);
  return { compiled, outcome };
}

/** The answer in a sentence, or why there is none. */
export function answerSentence(opened: OpenedStudy, outcome: PayloadOutcome): string {
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
