/** What is kept for returns, in sentences. */
import type { Study } from '../contract/study.ts';
import { PlanError } from '../flight/planTypes.ts';
import { fixed, tonnes } from '../units/figures.ts';
import { coupledPlan } from './answer.ts';
import type { ReserveVerdict } from './chosenReturns.ts';

/** Below this, kg, a reserve is given in kilograms. */
const LIGHT_kg = 10_000;

function mass(mass_kg: number): string {
  return Math.abs(mass_kg) < LIGHT_kg ? `${fixed(mass_kg, 0)} kg` : `${tonnes(mass_kg)} t`;
}

/** What a verdict on a reserve (kg) says: kept, taken, and what the difference is worth. */
export function verdictSentence(verdict: ReserveVerdict): string {
  const { state, name, body, kept_kg, takes_kg, spare_kg, margin, worth_kg, message } = verdict;
  const worth = (of: number): string =>
    Number.isFinite(of) ? `, worth ${mass(Math.abs(of))} of payload` : '';
  switch (state) {
    case 'taken':
      return (
        `${body} keeps ${mass(kept_kg)} for “${name}”, solved with the ascent: it takes ${mass(takes_kg)}` +
        (margin > 0
          ? ` and a margin of ${fixed(100 * margin, 1)} % is ${mass(spare_kg)}${worth(worth_kg)}.`
          : '.')
      );
    case 'enough':
      return `The reserve of ${body} is held at ${mass(kept_kg)}: “${name}” takes ${mass(takes_kg)}, and ${mass(spare_kg)} are spare${worth(worth_kg)}.`;
    case 'short': {
      const cost = Number.isFinite(worth_kg) ? `; to keep them would cost ${mass(-worth_kg)} of payload` : '';
      return `The reserve of ${body} is too small: ${mass(kept_kg)} are kept and “${name}” takes ${mass(takes_kg)} from this parting; ${mass(-spare_kg)} are missing${cost}.`;
    }
    case 'unknown':
      return `Whether the ${mass(kept_kg)} that ${body} keeps are enough for “${name}” is not known: ${message}`;
  }
}

/** The same in a few words (kg): what is kept and taken. */
export function verdictWords({ state, name, body, kept_kg, takes_kg }: ReserveVerdict): string {
  if (state === 'unknown') return `no way found for ${body} by “${name}”`;
  const would = state === 'short' ? 'would take' : 'takes';
  return `${body} keeps ${mass(kept_kg)} for its return, which ${would} ${mass(takes_kg)}`;
}

/** Whether the study, as a verdict finds it, does all that it is meant to: every return that it chooses gets by. Unitless. */
export function getsBy({ state }: ReserveVerdict): boolean {
  return state === 'taken' || state === 'enough';
}

/**
 * What many solves of a study do about its returns, said once: solved with the ascent, or what is kept (kg) as it stands. Null
 * where the study chooses none.
 */
export function reserveNote(study: Study): string | null {
  try {
    return noteOf(study);
  } catch (error) {
    if (error instanceof PlanError) return `${error.message}.`;
    throw error;
  }
}

function noteOf(study: Study): string | null {
  const { returns, vehicle } = study;
  const chosen = returns?.chosen ?? [];
  if (chosen.length === 0) return null;
  const own = coupledPlan(study);
  return chosen
    .map((id) => {
      const { name, body, reserve } = returns!.plans[id]!;
      const who = vehicle.bodies[body]?.name ?? body;
      if (id !== own)
        return `The reserve of ${who} is held at ${mass(vehicle.bodies[body]?.propellant?.returnReserve_kg ?? 0)}; whether “${name}” gets by with it is asked of single answers alone.`;
      const margin = reserve.kind === 'taken' && reserve.margin > 0 ? reserve.margin : 0;
      return `Each answer is solved with “${name}” in the same problem: ${who} keeps what it takes${margin > 0 ? ` and ${fixed(100 * margin, 1)} % more` : ''}.`;
    })
    .join(' ');
}
