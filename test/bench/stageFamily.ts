/** Vehicles of one to many stages of one kind, stacked: what a flight costs against their number. */
import { validateStudy } from '../../core/contract/load.ts';
import type { Study } from '../../core/contract/study.ts';

/** Each stage weighs this share of the one below it. */
const SHARE = 0.5;
const MASS_kg = 100_000;
const BURN_s = 60;

/** A study of so many stages that burn a minute each, one after the other, straight up and then along the air. */
export function stages(count: number): Study {
  const ids = Array.from({ length: count }, (_, i) => `stage-${i + 1}`);
  const bodies = Object.fromEntries(
    ids.map((id, i) => {
      const mass_kg = MASS_kg * SHARE ** i;
      const usable_kg = 0.8 * mass_kg;
      return [
        id,
        {
          name: id,
          role: i === 0 ? 'booster' : 'upper',
          ...(i === 0 ? {} : { ridesOn: ids[i - 1] }),
          dryMass_kg: 0.2 * mass_kg,
          propellant: { usable_kg },
          engineGroups: {
            main: {
              name: 'engine',
              count: 1,
              thrustVacuum_N: (usable_kg / BURN_s) * 300 * 9.80665,
              ispVacuum_s: 300,
              exitArea_m2: 0,
              shutDown: { delay_s: 0.1, ramp_s: 0.4 },
            },
          },
        },
      ];
    }),
  );
  const groups = ids.flatMap((_, i) => [ids.slice(i), [ids[i]!]]);
  const arrangements = [...new Map(groups.map((group) => [group.join(), group])).values()];
  const burns = ids.flatMap((id, i) => [
    ...(i === 0 ? [] : [event(`part-${i}`, after(`off-${i}`, 1), { kind: 'part', link: id })]),
    event(`on-${i + 1}`, i === 0 ? { kind: 'time', time_s: 0 } : after(`part-${i}`, 1), {
      kind: 'light',
      body: id,
      group: 'main',
    }),
    event(`off-${i + 1}`, { kind: 'propellant', body: id, left: 'reserves' }, { kind: 'cut', body: id }),
  ]);
  const loaded = validateStudy({
    format: 1,
    title: `${count} stages`,
    earth: { gravity: 'j2', figure: 'ellipsoid', atmosphere: { kind: 'us1976' } },
    site: { name: 'site', latitude_deg: 10, longitude_deg: 0, height_m: 0 },
    target: { perigee_m: 200_000, apogee_m: 200_000 },
    payload: { mass_kg: 100, ridesOn: ids.at(-1) },
    vehicle: {
      name: 'stack',
      bodies,
      aerodynamics: arrangements.map((group) => ({
        bodies: group,
        referenceArea_m2: 5,
        dragCoefficient: { mach: [0, 1, 5], value: [0.3, 0.5, 0.2] },
      })),
    },
    sequence: {
      launchAzimuth_deg: 90,
      finalCutoff: `off-${count}`,
      events: [
        ...burns,
        event('release', { kind: 'time', time_s: 0 }, { kind: 'release' }),
        event('rise', { kind: 'time', time_s: 0 }, { kind: 'steer', law: { kind: 'vertical' } }),
      ],
    },
  });
  if (!loaded.ok) throw new Error(loaded.problems.map((problem) => problem.sentence).join('\n'));
  return loaded.study;
}

function event(id: string, trigger: object, action: object): object {
  return { id, name: id, trigger, action };
}

function after(id: string, delay_s: number): object {
  return { kind: 'after', events: [id], delay_s };
}

/** The straight line of least squares through points (x, y), and how much of the scatter of y it explains. */
export function fitLine(points: readonly (readonly [number, number])[]): {
  start: number;
  slope: number;
  determination: number;
} {
  const mean = (of: (point: readonly [number, number]) => number): number =>
    points.reduce((sum, point) => sum + of(point), 0) / points.length;
  const x = mean(([px]) => px);
  const y = mean(([, py]) => py);
  const slope = mean((p) => (p[0] - x) * (p[1] - y)) / mean((p) => (p[0] - x) ** 2);
  const rest = mean((p) => (p[1] - y - slope * (p[0] - x)) ** 2);
  return { start: y - slope * x, slope, determination: 1 - rest / mean((p) => (p[1] - y) ** 2) };
}
