/** Ticks of a time ruler: round steps that leave room for their labels. */

export interface Tick {
  readonly time_s: number;
  readonly label: string | null;
}

const STEPS_s = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600];

/** Ticks between two mission times (s) for a ruler of so many pixels, labels at least `apart_px` from one another. */
export function rulerTicks(start_s: number, end_s: number, width_px: number, apart_px = 90): Tick[] {
  const span = end_s - start_s;
  if (!(span > 0) || !(width_px > 0)) return [];
  const fits = (step: number): boolean => (step / span) * width_px >= apart_px;
  const major = STEPS_s.find(fits) ?? STEPS_s[STEPS_s.length - 1]!;
  const minor = major / (major === 15 || major === 30 || major === 60 ? 3 : 5);
  const ticks: Tick[] = [];
  for (let i = Math.ceil(start_s / minor - 1e-9); i * minor <= end_s + 1e-9; i++) {
    const time_s = i * minor;
    const whole = Math.abs(time_s / major - Math.round(time_s / major)) < 1e-6;
    ticks.push({ time_s, label: whole ? missionTime(time_s, major < 1) : null });
  }
  return ticks;
}

/** Mission time as people read it: m:ss, with a tenth where asked; a true minus before liftoff. Seconds. */
export function missionTime(time_s: number, tenths = false): string {
  const size = Math.abs(time_s);
  const rounded = tenths ? Math.round(size * 10) / 10 : Math.round(size);
  const minutes = Math.floor(rounded / 60);
  const seconds = rounded - 60 * minutes;
  const text = tenths ? seconds.toFixed(1).padStart(4, '0') : String(seconds).padStart(2, '0');
  return `${time_s < 0 && rounded > 0 ? '\u2212' : ''}${minutes}:${text}`;
}
