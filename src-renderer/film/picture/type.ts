/** Type on a canvas: one family, figures set digit by digit in equal cells, words broken into lines. Sizes in sheet units. */

export type Context = OffscreenCanvasRenderingContext2D;
/** A film's canvas, or a window's. */
export type Surface = CanvasRenderingContext2D | Context;

const FAMILY = "'Atkinson Hyperlegible Next Variable', 'IBM Plex Sans', sans-serif";
/** What must be there before the first picture is drawn. */
export const FACES: readonly string[] = [400, 500, 600, 700].map((weight) => `${weight} 20px ${FAMILY}`);

export interface TypeStyle {
  readonly size: number;
  readonly weight: 400 | 500 | 600 | 700;
  readonly colour: string;
  readonly align?: 'left' | 'right' | 'center';
  /** Colour of a rim that keeps the words off what lies below. */
  readonly rim?: string;
}

function setFont(context: Surface, size: number, weight: number): void {
  context.font = `${weight} ${size}px ${FAMILY}`;
}

export function widthOf(context: Surface, text: string, size: number, weight: number): number {
  setFont(context, size, weight);
  return context.measureText(text).width;
}

/** Words on a baseline; returns their width. */
export function write(context: Surface, text: string, x: number, y: number, style: TypeStyle): number {
  setFont(context, style.size, style.weight);
  context.textAlign = style.align ?? 'left';
  context.textBaseline = 'alphabetic';
  if (style.rim !== undefined) {
    context.lineJoin = 'round';
    context.lineWidth = 0.3 * style.size;
    context.strokeStyle = style.rim;
    context.strokeText(text, x, y);
  }
  context.fillStyle = style.colour;
  context.fillText(text, x, y);
  return context.measureText(text).width;
}

/**
 * A figure whose last digit stands at x, its digits in cells of one width, so that nothing shifts as they change. Returns
 * the place of its left edge.
 */
export function writeFigure(
  context: Context,
  text: string,
  x: number,
  y: number,
  style: Omit<TypeStyle, 'align'>,
): number {
  setFont(context, style.size, style.weight);
  context.textBaseline = 'alphabetic';
  context.textAlign = 'center';
  context.fillStyle = style.colour;
  const cell = context.measureText('0').width;
  let right = x;
  for (const letter of [...text].reverse()) {
    const width = /\d/.test(letter) ? cell : context.measureText(letter).width;
    context.fillText(letter, right - width / 2, y);
    right -= width;
  }
  return right;
}

/** Words broken into lines no wider than so much; a word that is too wide stands alone. */
export function breakLines(
  context: Context,
  text: string,
  width: number,
  size: number,
  weight: number,
): string[] {
  setFont(context, size, weight);
  const lines: string[] = [];
  let line = '';
  // A figure and its unit stay together.
  const bound = text.replace(/(\d) (?=(?:%|s|t|kg|km|m)(?:\W|$))/g, '$1\u202F');
  for (const word of bound.split(' ')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line === '' || context.measureText(longer).width <= width) line = longer;
    else {
      lines.push(line);
      line = word;
    }
  }
  if (line !== '') lines.push(line);
  return lines;
}

/** As `breakLines`, in as few lines, but of more even length: a last line of one word is no good sight. */
export function breakEvenly(
  context: Context,
  text: string,
  width: number,
  size: number,
  weight: number,
): string[] {
  const fewest = breakLines(context, text, width, size, weight);
  if (fewest.length < 2) return fewest;
  // A sentence a line, where that takes no more lines.
  const sentences = text.split(/(?<=[.?!]) (?=\p{Lu})/u);
  if (sentences.length <= fewest.length && sentences.every((s) => context.measureText(s).width <= width))
    return sentences;
  let low = width / fewest.length;
  let high = width;
  for (let i = 0; i < 7; i++) {
    const middle = (low + high) / 2;
    if (breakLines(context, text, middle, size, weight).length > fewest.length) low = middle;
    else high = middle;
  }
  return breakLines(context, text, high, size, weight);
}
