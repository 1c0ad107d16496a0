/** What plates are called in the window. */
import type { FilmPlate } from '../../core/contract/film.ts';

export const PLATE_NAMES: Readonly<Record<FilmPlate, string>> = {
  title: 'title card',
  map: 'flight',
  staging: 'staging',
  landing: 'landing from close by',
  compare: 'two gaps',
  chart: 'curve',
  answer: 'answer card',
  assumptions: 'assumptions card',
  caution: 'caution card',
};
