/** What a solve makes the most of, and what it must leave in the tanks where it moves the times of cuts. */
import type { Goal } from '../contract/study.ts';
import { PAYLOAD, type CompiledStudy } from '../flight/compile.ts';
import type { FlightPlan } from '../flight/planTypes.ts';
import { burnedPropellant_kg, endMass_kg, propellantLeft_kg } from '../flight/timed.ts';

/** The goal of a study. */
export function goalOf({ study }: CompiledStudy): Goal {
  return study.goal ?? 'mostPayload';
}

/** What is to be made least, kg: minus the payload, minus the mass at insertion, or the propellant burned, of a plan flown. */
export function cost_kg(goal: Goal, plan: FlightPlan, values: Float64Array): number {
  switch (goal) {
    case 'mostPayload':
      return -values[PAYLOAD]!;
    case 'mostFinalMass':
      return -endMass_kg(plan, values[PAYLOAD]!);
    case 'leastPropellant':
      return burnedPropellant_kg(plan);
  }
}

/**
 * Bodies (indices) whose reserves the solve must watch over, since it moves times and no cut of theirs waits for a
 * propellant level: those on board at insertion. Empty where no time is free.
 */
export function watchedTanks({ study, bodies, plan, timed }: CompiledStudy): number[] {
  if (timed.length === 0) return [];
  const last = plan.segments[plan.segments.length - 1]!;
  const levels = study.sequence.events.flatMap(({ trigger }) =>
    trigger.kind === 'propellant' ? [trigger.body] : [],
  );
  return last.bodies.filter((body) => {
    const { id, load_kg, protected_kg } = bodies[body]!;
    return load_kg > protected_kg && !levels.includes(id);
  });
}

/** Pairs of time parameters (indices), neighbours in the order that the study has them in: the solve keeps that order. */
export function orderedTimes({ parameters, timed }: CompiledStudy): (readonly [number, number])[] {
  const inTime = [...timed].sort((p, q) => parameters[p]!.value - parameters[q]!.value);
  return inTime.slice(1).map((later, i) => [inTime[i]!, later]);
}

/** What a body (index) has left at the end of a plan beyond what must not be burned, kg; negative when it lacks. */
export function spare_kg({ bodies }: CompiledStudy, plan: FlightPlan, body: number): number {
  return propellantLeft_kg(plan, body) - bodies[body]!.protected_kg;
}
