/**
 * Where things stand. A picture is laid out in sheet units, in which the film's drawing is that of the window: the type of
 * 20, 34 and 46 px at 1080p comes out as 12.5, 21 and 29 units. A frame's shape decides which of three layouts it has.
 */
import type { Box } from '../../../core/replay/labels.ts';

export interface FilmLayout {
  readonly shape: 'wide' | 'square' | 'tall';
  /** Pixels a unit. */
  readonly scale: number;
  readonly width: number;
  readonly height: number;
  readonly margin: number;
  readonly caption: {
    readonly box: Box;
    readonly size: number;
    readonly leading: number;
    readonly lines: number;
  };
  /** The large plate with the flight: air column beside it, figures in the margin. */
  readonly column: Box;
  readonly plate: Box;
  readonly figures: Box;
  readonly figuresAcross: boolean;
  /** The braid, with its flags and its ruler. */
  readonly braid: {
    readonly box: Box;
    readonly above: number;
    readonly below: number;
    readonly thickest: number;
  };
  /** Plates without column and figures, such as the curve, reach to here. */
  readonly whole: Box;
  /** Baseline of the foot, and its lines. */
  readonly foot: { readonly y: number; readonly size: number; readonly lines: number };
  readonly small: number;
  readonly figureSize: number;
  readonly nameSize: number;
}

const box = (left: number, top: number, right: number, bottom: number): Box => ({ left, top, right, bottom });

/** Layout of a frame of this many pixels. */
export function filmLayout(width_px: number, height_px: number): FilmLayout {
  const aspect = width_px / height_px;
  if (aspect > 1.3) return wide(width_px, height_px);
  return aspect < 0.8 ? tall(width_px, height_px) : square(width_px, height_px);
}

/** 16:9 and its like: 675 units high. Everything keeps 3.75 % from the sides and 5 % from top and bottom. */
function wide(width_px: number, height_px: number): FilmLayout {
  const scale = height_px / 675;
  const width = width_px / scale;
  const margin = 45;
  const right = width - margin;
  return {
    shape: 'wide',
    scale,
    width,
    height: 675,
    margin,
    caption: { box: box(margin, 34, right, 110), size: 28.75, leading: 37, lines: 2 },
    column: box(margin, 122, margin + 100, 446),
    plate: box(margin + 114, 122, right - 192, 446),
    figures: box(right - 172, 122, right, 446),
    figuresAcross: false,
    braid: { box: box(margin, 456, right, 620), above: 38, below: 34, thickest: 33 },
    whole: box(margin, 122, right, 620),
    foot: { y: 649, size: 12.5, lines: 1 },
    small: 12.5,
    figureSize: 27,
    nameSize: 15,
  };
}

/** 1:1: 600 units. */
function square(width_px: number, height_px: number): FilmLayout {
  const scale = height_px / 600;
  const width = width_px / scale;
  const margin = 34;
  const right = width - margin;
  return {
    shape: 'square',
    scale,
    width,
    height: 600,
    margin,
    caption: { box: box(margin, 28, right, 100), size: 26, leading: 33, lines: 2 },
    column: box(margin, 106, margin + 88, 330),
    plate: box(margin + 98, 106, right, 330),
    figures: box(margin, 338, right, 396),
    figuresAcross: true,
    braid: { box: box(margin, 398, right, 542), above: 34, below: 30, thickest: 29 },
    whole: box(margin, 106, right, 542),
    foot: { y: 563, size: 11.5, lines: 2 },
    small: 12.5,
    figureSize: 25,
    nameSize: 14,
  };
}

/** 9:16: 502 units wide; top and bottom tenths and the right edge keep clear of what players lay over. */
function tall(width_px: number, height_px: number): FilmLayout {
  const scale = width_px / 502;
  const height = height_px / scale;
  const margin = 30;
  const right = 502 - margin;
  const top = 0.07 * height;
  const plateTop = top + 150;
  const plateBottom = plateTop + 0.33 * height;
  const braidTop = plateBottom + 84;
  return {
    shape: 'tall',
    scale,
    width: 502,
    height,
    margin,
    caption: { box: box(margin, top, right, plateTop - 14), size: 29, leading: 36, lines: 4 },
    column: box(margin, plateTop, margin + 84, plateBottom),
    plate: box(margin + 92, plateTop, right, plateBottom),
    figures: box(margin, plateBottom + 8, right, braidTop - 4),
    figuresAcross: true,
    braid: { box: box(margin, braidTop, right, braidTop + 172), above: 40, below: 36, thickest: 34 },
    whole: box(margin, plateTop, right, braidTop + 172),
    foot: { y: braidTop + 194, size: 12.5, lines: 3 },
    small: 13,
    figureSize: 29,
    nameSize: 15.5,
  };
}
