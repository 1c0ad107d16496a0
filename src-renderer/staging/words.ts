/** Ways of staging in words. */
import { fixed } from '../../core/units/figures.ts';
import type { ModeReply, ModesReply } from '../compute/protocol.ts';

export const VERDICTS: Record<ModeReply['verdict'], string> = {
  works: 'works',
  doubtful: 'doubtful',
  fails: 'fails',
  notSolved: 'not solved',
};

/** The way that carries most of those that work; null when none does. */
export function bestWay(rows: readonly ModeReply[]): ModeReply | null {
  const works = rows.filter((row) => row.verdict === 'works');
  return works.reduce<ModeReply | null>(
    (best, row) => (best === null || row.payload_kg > best.payload_kg ? row : best),
    null,
  );
}

/** One sentence on which way carries most. */
export function waysSentence({ rows, breakEven }: ModesReply): string {
  const best = bestWay(rows);
  if (best === null) return 'None of these ways of staging works as the study has it.';
  const name = (id: string): string => rows.find((row) => row.id === id)?.name ?? id;
  const first = `Of the ways that work, “${best.name}” carries most: ${fixed(best.payload_kg, 0)} kg.`;
  if (breakEven === null) return first;
  const { gain_kg, ring_kg } = breakEven;
  const against = breakEven.other === best.id ? 'against it' : `against “${name(breakEven.other)}”`;
  const gain =
    gain_kg >= 0
      ? `Lighting early gains ${fixed(gain_kg, 0)} kg ${against}`
      : `Lighting early costs ${fixed(-gain_kg, 0)} kg ${against}`;
  return `${first} ${gain}${Number.isFinite(ring_kg) && ring_kg > 0 ? `; a ring of ${fixed(ring_kg, 0)} kg would break even` : ''}.`;
}
