/** Widths of text in the window's type, px; measured once each. */

let context: CanvasRenderingContext2D | null = null;
const widths = new Map<string, number>();

/** The font family that the window and its pictures use. */
const FAMILY = "'Atkinson Hyperlegible Next Variable', 'IBM Plex Sans', sans-serif";

export function textWidth(text: string, size_px: number, weight: number): number {
  const key = `${weight} ${size_px} ${text}`;
  const known = widths.get(key);
  if (known !== undefined) return known;
  context ??= document.createElement('canvas').getContext('2d');
  if (context === null) throw new Error('textWidth: this browser gives no 2D canvas');
  context.font = `${weight} ${size_px}px ${FAMILY}`;
  const width = context.measureText(text).width;
  widths.set(key, width);
  return width;
}

/** Measurements made before the fonts came are worthless. */
export function forgetWidths(): void {
  widths.clear();
}
