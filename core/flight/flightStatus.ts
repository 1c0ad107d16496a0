/** How a flight ended, in a code and in a sentence for people. */

export type FlightCode =
  'flown' | 'cannotLiftOff' | 'impact' | 'cannotGoOn' | 'notFinite' | 'stepVanished' | 'tooManySteps';

export interface FlightStatus {
  readonly code: FlightCode;
  /** One sentence for people. */
  readonly message: string;
  /** Mission time reached, s. */
  readonly time_s: number;
}

/** A flight of more steps is given up. */
export const MOST_STEPS = 20_000;

/** What a flight that was not flown to its end came to, in a sentence. Mission time in s. */
export function failureSentence(code: Exclude<FlightCode, 'flown' | 'cannotGoOn'>, time_s: number): string {
  const at = `at ${time_s.toFixed(1)} s`;
  switch (code) {
    case 'cannotLiftOff':
      return `The vehicle cannot lift off: ${at}, when it is released, its thrust is less than its weight.`;
    case 'impact':
      return `The vehicle falls back to the ground ${at}.`;
    case 'notFinite':
      return `The flight could not be computed beyond ${time_s.toFixed(1)} s: a quantity is no longer a number.`;
    case 'stepVanished':
      return `The flight could not be computed beyond ${time_s.toFixed(1)} s: the time step shrank to nothing.`;
    case 'tooManySteps':
      return `The flight could not be computed beyond ${time_s.toFixed(1)} s: it took more than ${MOST_STEPS} steps.`;
  }
}
