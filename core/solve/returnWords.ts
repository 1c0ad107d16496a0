/** A flight home in words: what its phases and limits are called, and what holds an answer. */
import type { CompiledReturn } from '../recovery/compile.ts';
import type { EdgeKind, MissedEdge } from '../recovery/edges.ts';
import type { LimitKind } from '../recovery/peaks.ts';
import type { ReturnPhase } from '../recovery/legs.ts';
import { fixed, gees, kPa, km } from '../units/figures.ts';
import type { Binding } from './returnBinding.ts';

export const KIND_WORDS: Readonly<Record<LimitKind, string>> = {
  dynamicPressure: 'dynamic pressure',
  heating: 'stagnation heating',
  load: 'load',
};

export const PHASE_WORDS: Readonly<Record<ReturnPhase, string>> = {
  tailOff: 'tail-off',
  wait: 'wait',
  turn: 'turn',
  boostback: 'boostback',
  coast: 'coast',
  entry: 'entry burn',
  descent: 'descent',
  landing: 'landing burn',
};

/** A value of a limited quantity (Pa, W/m² or m/s²) for people, with its unit. */
export function peakFigure(kind: LimitKind, value: number): string {
  switch (kind) {
    case 'dynamicPressure':
      return `${kPa(value)} kPa`;
    case 'heating':
      return `${fixed(value / 1e4, 1)} W/cm²`;
    case 'load':
      return `${gees(value)} g`;
  }
}

/** What holds an answer, as a clause: "dynamic pressure in the descent is at its limit". Unitless. */
export function bindingWords({ numbers }: CompiledReturn, binding: Binding): string {
  if (binding.kind !== 'number')
    return `${KIND_WORDS[binding.kind]} in the ${PHASE_WORDS[binding.phase]} is at its limit`;
  const { name, lower, upper, unit, perUnit } = numbers[binding.number]!;
  const bound = (binding.at === 'lower' ? lower : upper) / perUnit;
  return `${name} is at its ${binding.at === 'lower' ? 'least' : 'most'}, ${fixed(bound, 2)}${unit === '' ? '' : ` ${unit}`}`;
}

/** All that holds an answer, in a sentence. Unitless. */
export function bindingSentence(compiled: CompiledReturn, bindings: readonly Binding[]): string {
  const words = bindings.map((each) => bindingWords(compiled, each));
  return words.length === 0 ? 'Nothing holds it back.' : `What holds it: ${words.join('; ')}.`;
}

const EDGE_WORDS: Readonly<Record<EdgeKind, string>> = {
  altitude: 'height',
  speed: 'speed',
  dynamicPressure: 'dynamic pressure',
  heating: 'stagnation heating',
};

/** A value of an edge's quantity (m, m/s, Pa or W/m²) for people, with its unit. */
function edgeFigure(kind: EdgeKind, value: number): string {
  switch (kind) {
    case 'altitude':
      return `${km(value)} km`;
    case 'speed':
      return `${fixed(value, 0)} m/s`;
    default:
      return peakFigure(kind, value);
  }
}

/**
 * Why an entry burn never starts, or never ends, in a sentence that says which edge, what its quantity came to in the flight that
 * waited for it, and what to try. Unitless.
 */
export function missedSentence({ kind, starts, value, behind, least, most }: MissedEdge): string {
  const what = EDGE_WORDS[kind];
  const figure = (of: number): string => edgeFigure(kind, of);
  const asked = figure(value);
  if (starts) {
    const never = `The entry burn never starts: it is to start at a ${what} of ${asked}`;
    if (kind === 'altitude')
      return `${never}, on the way down, and the flight is at ${figure(most)} at most; start it lower, or let the solve decide.`;
    if (most < value)
      return `${never}, and the flight comes to ${figure(most)} at most before the ground; start it at less, or let the solve decide.`;
    return `${never} when that is passed rising, and it stays between ${figure(least)} and ${figure(most)}; start it at another value, or let the solve decide.`;
  }
  const never = `The entry burn never ends: it is to end at a ${what} of ${asked}`;
  if (behind && kind !== 'dynamicPressure' && kind !== 'heating')
    return `${never} and has only ${figure(most)} when it starts; end it at less, start it earlier, or let the solve decide.`;
  if (most < value)
    return `${never}, falling, and while it burns the ${what} comes to ${figure(most)} at most; end it at less, at a speed, or let the solve decide.`;
  if (kind === 'altitude')
    return `${never}, and it stops the fall at ${figure(least)} already; end it higher, start it lower, or burn with less thrust.`;
  return `${never}, and while it burns the ${what} falls to ${figure(least)} at least; end it at more, or let the solve decide.`;
}

/** A peak that exceeds its limit (Pa, W/m² or m/s²), and whether it is known that it cannot be lower. */
interface Exceeded {
  readonly kind: LimitKind;
  readonly phase: ReturnPhase;
  readonly value: number;
  readonly limit: number;
  readonly least: boolean;
}

/** Why limits cannot be kept: the peak that exceeds its limit most where they are eased least, and what to try. Unitless. */
export function exceededSentence({ kind, phase, value, limit, least }: Exceeded): string {
  const burn = phase === 'landing' ? 'a landing with other engines' : 'an entry burn that lasts longer';
  const what = `the ${KIND_WORDS[kind]} in the ${PHASE_WORDS[phase]} comes to ${peakFigure(kind, value)}`;
  const claim = least
    ? `No landing keeps the limits: ${what} at least`
    : `No landing was found that keeps the limits: ${what} on the nearest`;
  return `${claim} and ${peakFigure(kind, limit)} is allowed; allow more, or plan ${burn} or other engines.`;
}
