/** Points to SVG path data, px with a tenth of a pixel. */
import type { Point } from '../../core/replay/braid.ts';

const n = (value: number): string => String(Math.round(value * 100) / 100);

export function openPath(points: readonly Point[]): string {
  return points.map((p, i) => `${i === 0 ? 'M' : 'L'}${n(p.x)} ${n(p.y)}`).join('');
}

export function closedPath(upper: readonly Point[], lower: readonly Point[]): string {
  return `${openPath(upper)}${[...lower]
    .reverse()
    .map((p) => `L${n(p.x)} ${n(p.y)}`)
    .join('')}Z`;
}
