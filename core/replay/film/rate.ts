/** Frame rates as ratios of whole numbers, so that frame times never drift. */

export interface FrameRate {
  readonly numerator: number;
  readonly denominator: number;
}

/** The rates in use, by the name that people give them; the three with a denominator are the NTSC ones. */
export const FRAME_RATES: Readonly<Record<string, FrameRate>> = {
  '23.976': { numerator: 24000, denominator: 1001 },
  '24': { numerator: 24, denominator: 1 },
  '25': { numerator: 25, denominator: 1 },
  '29.97': { numerator: 30000, denominator: 1001 },
  '30': { numerator: 30, denominator: 1 },
  '50': { numerator: 50, denominator: 1 },
  '59.94': { numerator: 60000, denominator: 1001 },
  '60': { numerator: 60, denominator: 1 },
};

/** Reads `30`, `29.97` or `30000/1001`, frames a second; undefined for what is none, or not between 1 and 240. */
export function parseFrameRate(text: string): FrameRate | undefined {
  const named = FRAME_RATES[text.trim()];
  if (named !== undefined) return named;
  const match = /^(\d{1,6})(?:\/(\d{1,6}))?$/.exec(text.trim());
  if (match === null) return undefined;
  const numerator = Number(match[1]);
  const denominator = Number(match[2] ?? 1);
  const perSecond = numerator / denominator;
  return perSecond >= 1 && perSecond <= 240 ? { numerator, denominator } : undefined;
}

/** Film time (s) at which a frame begins: frame × denominator / numerator, rounded once. */
export function frameTime_s(frame: number, rate: FrameRate): number {
  return (frame * rate.denominator) / rate.numerator;
}

/** Frames that make up a film of this length (s), at least one; the nearest whole number. */
export function frameCount(length_s: number, rate: FrameRate): number {
  return Math.max(1, Math.round((length_s * rate.numerator) / rate.denominator));
}

/** The rate as people write it: whole, or with three decimals; frames a second. */
export function rateName({ numerator, denominator }: FrameRate): string {
  const perSecond = numerator / denominator;
  return Number.isInteger(perSecond) ? String(perSecond) : perSecond.toFixed(3);
}
