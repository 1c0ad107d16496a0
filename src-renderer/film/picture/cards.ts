/** Cards of words: title, answer, assumptions, and the caution with which every film ends. Sizes in sheet units. */
import { missionTime } from '../../../core/replay/ruler.ts';
import { fixed } from '../../../core/units/figures.ts';
import { drawBand, gapWords } from './braidPanel.ts';
import { line } from './column.ts';
import type { PlateArguments } from './plates.ts';
import { breakEvenly, breakLines, write, type TypeStyle } from './type.ts';

interface Paragraph {
  readonly text: string;
  readonly size: number;
  readonly weight: 400 | 500 | 600 | 700;
  readonly quiet?: boolean;
  readonly after: number;
  readonly even?: boolean;
  readonly rule?: boolean;
}

/** Paragraphs from the left margin down, the block a little above the middle. */
function drawParagraphs({ context, layout, inks }: PlateArguments, paragraphs: readonly Paragraph[]): void {
  const width = Math.min(layout.width - 2 * layout.margin, layout.shape === 'wide' ? 900 : Infinity);
  const set = paragraphs.map((p) => ({
    ...p,
    lines: (p.even === true ? breakEvenly : breakLines)(context, p.text, width, p.size, p.weight),
  }));
  const total = set.reduce((sum, p) => sum + p.lines.length * 1.3 * p.size + p.after, 0);
  let y = Math.max(layout.caption.box.top, 0.46 * layout.height - 0.5 * total);
  for (const p of set) {
    const style: TypeStyle = {
      size: p.size,
      weight: p.weight,
      colour: p.quiet === true ? inks.ink2 : inks.ink,
    };
    for (const words of p.lines) {
      y += 1.3 * p.size;
      write(context, words, layout.margin, y - 0.3 * p.size, style);
    }
    y += p.after;
    if (p.rule === true) {
      context.strokeStyle = inks.ink;
      context.lineWidth = 1.6;
      line(context, layout.margin, y - 0.5 * p.after, layout.margin + 64, y - 0.5 * p.after);
    }
  }
}

export function drawTitle(plate: PlateArguments): void {
  const { scene, layout, context, inks } = plate;
  const big = layout.shape === 'wide' ? 46 : 37;
  const gap = scene.main.gap;
  const { set } = scene.main;
  // The flight to come, pale, along the foot.
  drawBand(
    context,
    { ...scene.main, knots: [] },
    {
      box: layout.braid.box,
      ...{ start_s: set.start_s, end_s: scene.main.end_s },
      ...{ above: layout.braid.above, below: layout.braid.below, thickest: layout.braid.thickest, ease: 27 },
      // Before its beginning: nothing is past, and no playhead stands.
      ...{
        type: layout.small,
        mission_s: set.start_s - 1,
        ruler: false,
        tenths: false,
        crowded: 0,
        mostRank: 1,
      },
      ...{
        gap: null,
        span: null,
        pointed: null,
        ground: inks.sheet,
        notes: false,
        rims: false,
        settlingWords: false,
      },
    },
    inks,
  );
  const staging = gap === null ? '' : `Staging with ${gap.gap_s < 0 ? 'an' : 'a'} ${gapPhrase(gap.gap_s)}. `;
  drawParagraphs(plate, [
    { text: scene.title, size: big, weight: 600, after: 34, even: true, rule: true },
    {
      text: `${staging}From liftoff to orbit, as computed for ${scene.vehicle}.`,
      size: 21,
      weight: 400,
      quiet: true,
      after: 0,
    },
  ]);
}

/** "overlap of 1.5 s", "gap of 10 s". */
function gapPhrase(gap_s: number): string {
  const [figure = '', kind = ''] = gapWords(gap_s).split(/ (?=\w+$)/);
  return `${kind} of ${figure}`;
}

export function drawAnswer(plate: PlateArguments): void {
  const { scene, layout } = plate;
  const size = layout.shape === 'wide' ? 40 : 33;
  const zero = scene.main;
  const mass =
    zero.payload_kg < 2000 ? `${fixed(zero.payload_kg, 1)} kg` : `${fixed(zero.payload_kg / 1000, 2)} t`;
  const perigee = scene.facts.perigee_m < 0 ? '' : `${fixed(scene.facts.perigee_m / 1000, 0)} by `;
  const orbit = `${mass} reach ${perigee}${fixed(scene.facts.apogee_m / 1000, 0)} km`;
  const insertion = scene.facts.log.find((entry) => entry.id === 'insertion');
  const when = insertion === undefined ? '' : `, ${missionTime(insertion.time_s)} after liftoff`;
  drawParagraphs(plate, [
    { text: 'What waiting costs', size: 18, weight: 600, quiet: true, after: 12 },
    { text: scene.answer, size, weight: 500, after: 34, even: true, rule: true },
    {
      text: `${orbit}${when}. No error band: exact for these numbers.`,
      size: 19,
      weight: 400,
      quiet: true,
      after: 0,
    },
  ]);
}

export function drawAssumptions(plate: PlateArguments): void {
  const { scene, layout } = plate;
  const size = layout.shape === 'wide' ? 22 : 20;
  drawParagraphs(plate, [
    { text: 'What this rests on', size: 30, weight: 600, after: 30, rule: true },
    ...scene.assumptions.map((text): Paragraph => ({ text, size, weight: 400, after: 12 })),
  ]);
}

export function drawCaution(plate: PlateArguments): void {
  const { scene, layout } = plate;
  const size = layout.shape === 'wide' ? 27 : 24;
  drawParagraphs(plate, [
    { text: scene.caution, size, weight: 500, after: 34, even: true, rule: true },
    {
      text: `${scene.vehicle}. Computed and drawn with Plumeline.`,
      size: 16,
      weight: 400,
      quiet: true,
      after: 4,
    },
    {
      text: `Study ${scene.hash.slice(0, 32)} ${scene.hash.slice(32)}`,
      size: 13,
      weight: 400,
      quiet: true,
      after: 0,
    },
  ]);
}
