/** Changes of what a study does about its returns: which of them its answer flies, and what is kept for them. */
import type { ReturnPlan } from '../contract/returns.ts';
import type { Study } from '../contract/study.ts';

/** The study with a return (id) chosen, in place of another of the same body, or left out. Nothing is changed in place; unitless. */
export function withChosen(study: Study, plan: string, chosen: boolean): Study {
  const { returns } = study;
  if (returns === undefined) return study;
  const body = returns.plans[plan]?.body;
  const others = returns.chosen.filter((id) => id !== plan && (!chosen || returns.plans[id]?.body !== body));
  return { ...study, returns: { ...returns, chosen: chosen ? [...others, plan] : others } };
}

/**
 * The study with another rule for what is kept for a return (id): a share of what it takes, dimensionless, or the body's own
 * reserve. What was said of a number that there is no more is dropped. Nothing is changed in place.
 */
export function withReserveRule(study: Study, plan: string, reserve: ReturnPlan['reserve']): Study {
  const { returns } = study;
  const own = returns?.plans[plan];
  if (returns === undefined || own === undefined) return study;
  const gone = `returns.plans.${plan}.reserve.`;
  const provenance =
    reserve.kind === 'taken'
      ? study.provenance
      : Object.fromEntries(Object.entries(study.provenance).filter(([path]) => !path.startsWith(gone)));
  const plans = { ...returns.plans, [plan]: { ...own, reserve } };
  return { ...study, provenance, returns: { ...returns, plans } };
}
