/** What the wind of the day would have changed in a flight that was reflown through still air. */
import type { Study } from '../../contract/study.ts';
import type { SpaceFixed } from '../../flight/space.ts';
import { Reflown } from './reflown.ts';
import type { ReportedFlight } from './report.ts';

const DEG = 180 / Math.PI;

/** What the wind of the day would change, steering fitted anew; nothing where none was told. */
export function windNotes(study: Study, published: ReportedFlight, still: Reflown): string[] {
  const { wind, maxDynamicPressure, states } = published;
  const first = states[states.findIndex((state) => state.stage !== states[0]!.stage) - 1];
  if (wind === undefined || first === undefined || !still.usable) return [];
  const from = wind.from_deg / DEG;
  const row = (height_m: number, speed_mps: number): NonNullable<Study['earth']['wind']>[number] => ({
    height_m,
    eastward_mps: -speed_mps * Math.sin(from),
    northward_mps: -speed_mps * Math.cos(from),
  });
  const profile = [
    row(wind.surfaceHeight_m, wind.surface_mps),
    row(wind.peakHeight_m, wind.peak_mps),
    row(wind.calm_m, 0),
  ];
  const blown = new Reflown(study, published, 'mid', still.fit.values, profile);
  if (!blown.usable) return [`With the wind of the day the fit comes to nothing: ${blown.fit.message}`];
  const change = (read: (flight: Reflown) => number): number => read(blown) - read(still);
  const at = (flight: Reflown): SpaceFixed => flight.state(flight.time_s(first.event));
  const peak_Pa = change(
    (flight) => flight.greatest('liftoff', first.event, (now) => now.dynamicPressure_Pa).value,
  );
  return [
    `Wind of the day, ${wind.surface_mps} m/s at the ground and ${wind.peak_mps} m/s at ${wind.peakHeight_m / 1000} km ` +
      `(${wind.source}; ${wind.status}), is not in the flight scored. With it, steering fitted anew, ${first.name} changes by ` +
      `${change((flight) => at(flight).height_m).toFixed(0)} m of height and ` +
      `${change((flight) => at(flight).speed_mps).toFixed(1)} m/s, the greatest dynamic pressure by ` +
      `${(peak_Pa / 1000).toFixed(2)} kPa of ${(maxDynamicPressure.pressure_Pa / 1000).toFixed(1)}.`,
  ];
}
