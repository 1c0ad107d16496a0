/**
 * One picture of a film: a pure function of scene, cues and frame number onto a canvas. It reads no clock and no state of the
 * application; fonts must be loaded before.
 */
import { encodeFrame } from '../../../core/replay/film/frameCode.ts';
import { filmState, type CueTrack, type FilmState } from '../../../core/replay/film/cueTrack.ts';
import { frameTime_s, type FrameRate } from '../../../core/replay/film/rate.ts';
import { drawBand } from './braidPanel.ts';
import { drawAnswer, drawAssumptions, drawCaution, drawTitle } from './cards.ts';
import { drawColumn } from './column.ts';
import { drawFigures } from './figures.ts';
import { SHEETS, type SheetInks } from './inks.ts';
import { filmLayout, type FilmLayout } from './layout.ts';
import { MapPlate } from './mapPlate.ts';
import { drawChart, drawCompare, drawStaging, stagingWindow, type PlateArguments } from './plates.ts';
import type { FilmScene } from './scene.ts';
import { breakEvenly, breakLines, FACES, write, type Context } from './type.ts';

export interface PictureOptions {
  readonly width_px: number;
  readonly height_px: number;
  readonly rate: FrameRate;
  /** Everything, or only what lies over a picture of one's own: words, figures and braid on nothing. */
  readonly ground: 'sheet' | 'transparent';
  /** A row of squares at the foot that a program can read. */
  readonly frameCode: boolean;
}

/** New plates and sentences come up over so long, film time in s. */
const FADE_s = 0.12;
/** What is pointed at is ringed over so long, s. */
const POINT_s = 0.4;
const CARDS = ['title', 'answer', 'assumptions', 'caution'];

/** Loads the type; pictures drawn before would have another. */
export async function loadType(fonts: FontFaceSet): Promise<void> {
  const loaded = await Promise.all(FACES.map((face) => fonts.load(face)));
  if (loaded.some((faces) => faces.length === 0)) {
    throw new Error('The type of the film could not be loaded; start the program again.');
  }
}

export class Picture {
  readonly layout: FilmLayout;
  private readonly inks: SheetInks;
  private readonly map = new MapPlate();

  constructor(
    readonly scene: FilmScene,
    readonly track: CueTrack,
    readonly options: PictureOptions,
  ) {
    this.layout = filmLayout(options.width_px, options.height_px);
    this.inks = SHEETS[track.film.sheet];
  }

  /** Draws a frame by its number. */
  draw(context: Context, frame: number): FilmState {
    const state = this.drawAt(context, frameTime_s(frame, this.options.rate));
    if (this.options.frameCode) drawCode(context, encodeFrame(frame, state.mission_s), this.options);
    return state;
  }

  /** Draws the picture that stands at a film time, s. */
  drawAt(context: Context, film_s: number): FilmState {
    const { options, layout, inks, scene, track } = this;
    const state = filmState(track, film_s);
    context.reset();
    if (options.ground === 'sheet') {
      context.fillStyle = inks.sheet;
      context.fillRect(0, 0, options.width_px, options.height_px);
    }
    context.scale(layout.scale, layout.scale);
    context.fontKerning = 'normal';
    const { pointer } = state;
    const strength = Math.min(1, Math.max(0, (film_s - state.pointerSince_s) / POINT_s));
    const pointed = pointer.kind === 'knot' ? { event: pointer.event, strength } : null;
    const plate: PlateArguments = {
      context,
      layout,
      scene,
      state,
      inks,
      pointed,
      opaque: options.ground === 'sheet',
    };
    if (CARDS.includes(state.plate)) this.card(plate);
    else this.flight(plate, strength);
    this.fade(context, state);
    this.caption(context, state);
    if (state.plate !== 'caution') this.foot(context);
    return state;
  }

  private card(plate: PlateArguments): void {
    switch (plate.state.plate) {
      case 'title':
        drawTitle(plate);
        break;
      case 'answer':
        drawAnswer(plate);
        break;
      case 'assumptions':
        drawAssumptions(plate);
        break;
      default:
        drawCaution(plate);
    }
  }

  private flight(plate: PlateArguments, strength: number): void {
    const { context, layout, scene, state, inks, pointed } = plate;
    if (state.plate === 'compare') {
      drawCompare(plate);
      return;
    }
    if (state.plate === 'chart') {
      drawChart(plate);
      return;
    }
    const staging = state.plate === 'staging';
    const opaque = this.options.ground === 'sheet';
    if (staging) drawStaging(plate);
    else {
      if (opaque)
        this.map.draw(context, layout.plate, layout.scale, scene.main, state.camera, state.mission_s, inks);
      drawColumn(context, layout.column, scene.main, scene.target_m, state.mission_s, inks, layout.small);
    }
    if (state.figures)
      drawFigures(context, layout, scene.main, state.mission_s, state.pace, state.pointer, strength, inks);
    const { braid, small } = layout;
    const { set } = scene.main;
    drawBand(
      context,
      scene.main,
      {
        box: braid.box,
        start_s: set.start_s,
        end_s: scene.main.end_s,
        above: braid.above,
        below: braid.below,
        thickest: braid.thickest,
        ease: 27,
        type: small,
        mission_s: state.mission_s,
        ruler: true,
        tenths: state.pace <= 1.5,
        crowded: 14,
        mostRank: 1,
        gap: null,
        span: staging && opaque ? stagingWindow(scene) : null,
        pointed: staging ? null : pointed,
        ground: inks.sheet,
        notes: false,
        settlingWords: false,
        rims: opaque,
      },
      inks,
    );
  }

  /** A new plate comes up out of the sheet. */
  private fade(context: Context, state: FilmState): void {
    const share = (state.film_s - state.plateSince_s) / FADE_s;
    if (share >= 1 || state.plateSince_s === 0) return;
    context.save();
    context.globalAlpha = 1 - Math.max(0, share);
    if (this.options.ground === 'transparent') context.globalCompositeOperation = 'destination-out';
    context.fillStyle = this.inks.sheet;
    context.fillRect(0, 0, this.layout.width, this.layout.height);
    context.restore();
  }

  private caption(context: Context, state: FilmState): void {
    if (state.caption === '') return;
    const { box, size, leading, lines: room } = this.layout.caption;
    const width = box.right - box.left;
    let type = size;
    let lines = breakEvenly(context, state.caption, width, type, 500);
    // A sentence that is too long for its lines is set smaller rather than cut.
    while (lines.length > room && type > 0.6 * size) {
      type *= 0.93;
      lines = breakEvenly(context, state.caption, width, type, 500);
    }
    context.save();
    context.globalAlpha = Math.min(1, Math.max(0, (state.film_s - state.captionSince_s) / FADE_s + 0.25));
    lines.forEach((words, i) => {
      write(context, words, box.left, box.top + type + i * leading * (type / size), {
        ...{ size: type, weight: 500, colour: this.inks.ink },
      });
    });
    context.restore();
  }

  private foot(context: Context): void {
    const { foot, margin, width } = this.layout;
    const words = breakLines(context, this.scene.caution, width - 2 * margin, foot.size, 400);
    words.slice(0, foot.lines + 1).forEach((text, i) => {
      write(context, text, margin, foot.y + i * 1.35 * foot.size, {
        size: foot.size,
        weight: 400,
        colour: this.inks.ink2,
      });
    });
  }
}

/** Squares along the lower edge, as wide as the picture allows, in whole pixels; two rows would need a second count. */
function codeSquare_px(width_px: number, count: number): number {
  return Math.floor(width_px / (count + 2));
}

function drawCode(
  context: Context,
  squares: readonly boolean[],
  { width_px, height_px }: { width_px: number; height_px: number },
): void {
  const size = codeSquare_px(width_px, squares.length);
  context.save();
  context.resetTransform();
  context.fillStyle = '#808080';
  context.fillRect(0, height_px - size, width_px, size);
  squares.forEach((white, i) => {
    context.fillStyle = white ? '#ffffff' : '#000000';
    context.fillRect((i + 1) * size, height_px - size, size, size);
  });
  context.restore();
}
