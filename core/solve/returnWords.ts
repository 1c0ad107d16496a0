/** A flight home in words: what its phases and limits are called, and what holds an answer. */
import type { CompiledReturn } from '../recovery/compile.ts';
import type { LimitKind } from '../recovery/peaks.ts';
import type { ReturnPhase } from '../recovery/legs.ts';
import { fixed, gees, kPa } from '../units/figures.ts';
import type { Binding } from './return.ts';

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
