/** When events happen: what a trigger refers to, and triggers that wait for each other. */
import { makeProblem, quote, type Problem } from '../problem.ts';
import type { StateTrigger, Trigger } from '../sequence.ts';
import type { Study } from '../study.ts';
import { cutIds } from './events.ts';
import { checkName, checkRepeats, inEvent } from './references.ts';

/** Ids of the events that a trigger waits for or leads up to. */
function referencesOf(trigger: Trigger): readonly string[] {
  switch (trigger.kind) {
    case 'after':
      return trigger.events;
    case 'before':
      return [trigger.event];
    case 'gap':
      return [trigger.cutoff];
    case 'time':
    case 'propellant':
    case 'altitude':
    case 'speed':
    case 'dynamicPressure':
    case 'sensedAcceleration':
    case 'heatFlux':
    case 'verticalSpeed':
      return [];
  }
}

/** Problems with triggers: unknown events, bodies or cuts, events that wait for each other, masses beyond the load (kg). */
export function checkTriggers(study: Study): Problem[] {
  return [...study.sequence.events.flatMap((_, i) => checkTrigger(study, i)), ...checkCircles(study)];
}

function checkTrigger(study: Study, index: number): Problem[] {
  const { events } = study.sequence;
  const { trigger } = events[index]!;
  const ids = events.map((event) => event.id);
  const at = (...steps: (string | number)[]): string => inEvent(study, index, 'trigger', ...steps);
  switch (trigger.kind) {
    case 'time':
      return checkFree(study, index, trigger, at);
    case 'altitude':
    case 'speed':
    case 'dynamicPressure':
    case 'sensedAcceleration':
    case 'heatFlux':
    case 'verticalSpeed':
      return checkWatched(study, index, trigger);
    case 'after':
      return [
        ...trigger.events.flatMap((id, k) => checkName(at('events', k), id, ids, 'an event')),
        ...checkRepeats(trigger.events, (k) => at('events', k)),
      ];
    case 'before':
      return checkName(at('event'), trigger.event, ids, 'an event');
    case 'gap':
      return checkName(at('cutoff'), trigger.cutoff, cutIds(study), 'a cut event');
    case 'propellant': {
      const bodies = Object.keys(study.vehicle.bodies);
      const fuelled = bodies.filter((id) => study.vehicle.bodies[id]!.propellant !== undefined);
      const unknown = checkName(at('body'), trigger.body, fuelled, 'a body with propellant');
      return unknown.length > 0 ? unknown : checkMassLeft(study, trigger, at('left', 'mass_kg'));
    }
  }
}

/** A time that the solve may move lies where it may move to, and is not the release, from which the flight starts. */
function checkFree(
  study: Study,
  index: number,
  { time_s, free }: Trigger & { kind: 'time' },
  at: (...steps: string[]) => string,
): Problem[] {
  if (free === undefined) return [];
  if (study.sequence.events[index]!.action.kind === 'release') {
    return [
      makeProblem(at('free'), 'a free time for the release', 'a fixed time, from which the flight starts'),
    ];
  }
  if (time_s >= free.earliest_s && time_s <= free.latest_s) return [];
  const allowed = `a number from ${free.earliest_s} to ${free.latest_s}, where it is free`;
  return [makeProblem(at('time_s'), String(time_s), allowed)];
}

/** What only a flight can find is watched from release on, and air must be there to press or heat. */
function checkWatched(study: Study, index: number, trigger: StateTrigger): Problem[] {
  const path = inEvent(study, index, 'trigger', 'kind');
  const received = quote(trigger.kind);
  if (study.sequence.events[index]!.action.kind === 'release') {
    return [
      makeProblem(path, `${received} for the release`, '"time", "after" or another that the clock decides'),
    ];
  }
  const ofAir = trigger.kind === 'dynamicPressure' || trigger.kind === 'heatFlux';
  if (ofAir && study.earth.atmosphere.kind === 'none') {
    return [makeProblem(path, `${received} where earth.atmosphere is "none"`, 'a trigger that needs no air')];
  }
  return [];
}

function checkMassLeft(study: Study, trigger: Trigger & { kind: 'propellant' }, path: string): Problem[] {
  const propellant = study.vehicle.bodies[trigger.body]?.propellant;
  if (trigger.left === 'reserves' || propellant === undefined) return [];
  const { usable_kg, residual_kg, flightReserve_kg, returnReserve_kg } = propellant;
  const load_kg = usable_kg + residual_kg + flightReserve_kg + returnReserve_kg;
  const { mass_kg } = trigger.left;
  if (mass_kg >= residual_kg && mass_kg <= load_kg) return [];
  const allowed = `a number from ${residual_kg}, the residual of ${quote(trigger.body)}, to ${load_kg}, its load`;
  return [makeProblem(path, String(mass_kg), allowed)];
}

/** Each circle of events that wait for each other, told once, at its first event in the list. */
function checkCircles(study: Study): Problem[] {
  const { events } = study.sequence;
  const byId = new Map(events.map((event, i) => [event.id, i]));
  const state = events.map((): 'new' | 'open' | 'done' => 'new');
  const problems: Problem[] = [];
  const visit = (index: number, way: readonly number[]): void => {
    if (state[index] === 'done') return;
    if (state[index] === 'open') {
      const circle = way.slice(way.indexOf(index));
      const names = [...circle, index].map((i) => events[i]!.id);
      const received = `the circle ${names.join(' waits for ')}`;
      problems.push(
        makeProblem(inEvent(study, index, 'trigger'), received, 'a trigger that leads back to a time'),
      );
      return;
    }
    state[index] = 'open';
    for (const id of referencesOf(events[index]!.trigger)) {
      const next = byId.get(id);
      if (next !== undefined) visit(next, [...way, index]);
    }
    state[index] = 'done';
  };
  events.forEach((_, i) => visit(i, []));
  return problems;
}
