/** What holds a solved return: which limit binds, at what time, and what easing it is worth. */
import { G0_mps2 } from '../constants/physical.ts';
import type { TrackReader } from '../flight/track.ts';
import { findMaximum } from '../math/extrema.ts';
import type { CompiledReturn } from '../recovery/compile.ts';
import type { HomePath } from '../recovery/homePath.ts';
import type { ReturnPhase } from '../recovery/legs.ts';
import type { LimitKind } from '../recovery/peaks.ts';
import type { ReturnOutcome } from '../solve/return.ts';
import { bindingWords } from '../solve/returnWords.ts';
import { heatingNow_Wpm2 } from './home.ts';

export interface HomeHold {
  /** A clause: "dynamic pressure in the descent is at its limit". */
  readonly words: string;
  /** When it is at its limit, mission time, s; NaN for what is no matter of a moment. */
  readonly time_s: number;
  /** What easing it by one of its units is worth, kg: of propellant, or of payload where the ascent gives way to it. */
  readonly worth_kg: number;
  /** One of its units, with the article: "a kilopascal". */
  readonly unit: string;
}

/** One unit of a limit, as people name it, in SI. */
const UNITS: Readonly<Record<LimitKind, { readonly unit: string; readonly si: number }>> = {
  dynamicPressure: { unit: 'a kilopascal', si: 1000 },
  heating: { unit: 'a watt per square centimetre', si: 1e4 },
  load: { unit: 'a tenth of a g', si: 0.1 * G0_mps2 },
};
/** Looked at so often in each segment; then by golden section to a thousandth of a second. */
const LOOKS = 24;
const FINE_s = 1e-3;

/** What holds the answer of a return, with the flown path's reader for the times. Mission times in s, worths in kg. */
export function holdsOf(
  home: CompiledReturn,
  { binding }: Pick<ReturnOutcome, 'binding'>,
  reader: TrackReader,
  path: HomePath,
): HomeHold[] {
  return binding.map((each): HomeHold => {
    const words = bindingWords(home, each);
    if (each.kind !== 'number') {
      const { unit, si } = UNITS[each.kind];
      // The multiplier is for the limit as a whole.
      const worth_kg = (each.multiplier_kg * si) / each.value;
      return { words, time_s: timeOfGreatest_s(reader, path, each.kind, each.phase), worth_kg, unit };
    }
    const { scale, perUnit, unit } = home.numbers[each.number]!;
    const own = unit === '' ? { unit: 'a hundredth', size: 0.01 } : { unit: `one ${unit}`, size: perUnit };
    return { words, time_s: Number.NaN, worth_kg: (each.multiplier_kg * own.size) / scale, unit: own.unit };
  });
}

/** When a quantity is greatest in a phase of a path, mission time in s; NaN without that phase. */
function timeOfGreatest_s(reader: TrackReader, path: HomePath, kind: LimitKind, phase: ReturnPhase): number {
  const at = (t: number): number => {
    // A boundary belongs to the segment that is looked at.
    const now = reader.at(t);
    if (kind === 'dynamicPressure') return now.dynamicPressure_Pa;
    return kind === 'heating' ? heatingNow_Wpm2(reader, path) : now.sensed_mps2;
  };
  let best = { time_s: Number.NaN, value: Number.NEGATIVE_INFINITY, around_s: 0 };
  path.legs.forEach((leg, i) => {
    if (leg.phase !== phase) return;
    const { start_s, end_s } = reader.track.segments[i]!;
    const around_s = (end_s - start_s) / LOOKS;
    for (let k = 0; k <= LOOKS; k++) {
      const time_s = Math.min(end_s - 1e-6, start_s + k * around_s);
      const value = at(time_s);
      if (value > best.value) best = { time_s, value, around_s };
    }
  });
  if (Number.isNaN(best.time_s)) return best.time_s;
  const { time_s, around_s } = best;
  const found_s = findMaximum(at, time_s - around_s, time_s + around_s, FINE_s);
  return at(found_s) > best.value ? found_s : time_s;
}
