/** A study's target in words. */
import type { Target } from '../contract/study.ts';
import { fixed } from '../units/figures.ts';

/** Apsides that differ by less count as a circle's, m. */
const ROUND_m = 100;

/** What a flight is to come to, after "to": "a 250 km circular orbit", "220 × 510 km", "an apogee of 280 km". Heights in km. */
export function targetWords({ kind, perigee_m, apogee_m }: Target): string {
  if (kind === 'apogee') return `an apogee of ${fixed(apogee_m / 1000, 0)} km`;
  return apogee_m - perigee_m < ROUND_m
    ? `a ${fixed(perigee_m / 1000, 0)} km circular orbit`
    : `${fixed(perigee_m / 1000, 0)} × ${fixed(apogee_m / 1000, 0)} km`;
}
