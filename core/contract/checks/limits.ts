/** Limits of the flight: the events at which they hold, and air for what air does. */
import { makeProblem, type Problem } from '../problem.ts';
import type { Study } from '../study.ts';
import { checkName } from './references.ts';

/** Problems with limits: unknown events, and limits on what needs air where there is none. Unitless. */
export function checkLimits({ limits, sequence, earth }: Study): Problem[] {
  if (limits === undefined) return [];
  const ids = sequence.events.map((event) => event.id);
  const problems = (['heatFluxAt', 'altitudeAt'] as const).flatMap((key) =>
    (limits[key] ?? []).flatMap(({ event }, i) =>
      checkName(`limits.${key}.${i}.event`, event, ids, 'an event'),
    ),
  );
  if (earth.atmosphere.kind !== 'none') return problems;
  for (const key of ['dynamicPressure_Pa', 'pressureAngle_Parad', 'heatFluxAt'] as const) {
    if (limits[key] === undefined) continue;
    const received = 'a limit where earth.atmosphere is "none"';
    problems.push(makeProblem(`limits.${key}`, received, 'left out, since there is no air'));
  }
  return problems;
}
