/** The air column: height on a scale that opens up low down, and dots whose spacing follows the air's density. */
import { Us1976Atmosphere } from '../earth/atmosphere/us1976.ts';

const REFERENCE_m = 30_000;
const TICKS_m = [
  0, 5e3, 10e3, 20e3, 30e3, 50e3, 70e3, 100e3, 150e3, 200e3, 300e3, 400e3, 500e3, 700e3, 1000e3,
];

const air = new Us1976Atmosphere();

/** Share of the column's height (0 to 1, may go beyond) at which a height in m stands; logarithmic above 30 km. */
export function columnHeight(height_m: number, top_m: number): number {
  return Math.log1p(Math.max(height_m, -0.9 * REFERENCE_m) / REFERENCE_m) / Math.log1p(top_m / REFERENCE_m);
}

/** The height (m) that stands at a share of the column; inverse of `columnHeight`. */
export function heightAtShare_m(share: number, top_m: number): number {
  return REFERENCE_m * Math.expm1(share * Math.log1p(top_m / REFERENCE_m));
}

/** Fourth root of the air's density over that at sea level, dimensionless, at a height in m: what eyes take as its depth. */
export function airDepth(height_m: number): number {
  const piece = air.pieceAt(height_m);
  air.evaluate(height_m, piece);
  const here = air.density_kgpm3;
  return (here / 1.225) ** 0.25;
}

/** Heights (m) to label in a column of so many pixels, at least 12 px apart, and the air's depth by share of height. */
export function columnTicks(
  top_m: number,
  height_px: number,
): { heights_m: number[]; density: (share: number) => number } {
  const heights_m: number[] = [];
  let last = Infinity;
  for (const h of [...TICKS_m].reverse()) {
    if (h > top_m) continue;
    const y = (1 - columnHeight(h, top_m)) * height_px;
    if (h === 0 || Math.abs(y - last) >= 12 || last === Infinity) {
      heights_m.push(h);
      last = y;
    }
  }
  const lowest = heights_m[heights_m.length - 2];
  if (lowest !== undefined && columnHeight(lowest, top_m) * height_px < 12) heights_m.splice(-2, 1);
  return { heights_m, density: (share) => airDepth(heightAtShare_m(share, top_m)) };
}

/**
 * Dots of a column as SVG path data (px): dart throwing with a fixed seed, spacing least / depth, so that the same column
 * always has the same dots. Dots mean gas.
 */
export function stipple(width: number, height: number, top_m: number, least: number): string {
  let seed = 0x9e3779b9;
  const random = (): number => {
    // xorshift32: a fixed pattern is wanted, not statistics.
    seed ^= seed << 13;
    seed ^= seed >>> 17;
    seed ^= seed << 5;
    return (seed >>> 0) / 4294967296;
  };
  const cell = 4;
  const columns = Math.ceil(width / cell);
  const grid = new Map<number, { x: number; y: number }[]>();
  let path = '';
  const tries = Math.round(width * height * 0.9);
  for (let i = 0; i < tries; i++) {
    const x = random() * width;
    // More darts low down, where they may lie closer.
    const y = height * (1 - random() * random());
    const spacing = least / Math.max(0.02, airDepth(heightAtShare_m(1 - y / height, top_m)));
    if (spacing > 60) continue;
    const reach = Math.ceil(spacing / cell);
    const cx = Math.floor(x / cell);
    const cy = Math.floor(y / cell);
    let free = true;
    for (let gy = cy - reach; free && gy <= cy + reach; gy++) {
      for (let gx = cx - reach; free && gx <= cx + reach; gx++) {
        for (const dot of grid.get(gy * (columns + 64) + gx) ?? []) {
          if ((dot.x - x) ** 2 + (dot.y - y) ** 2 < spacing * spacing) {
            free = false;
            break;
          }
        }
      }
    }
    if (!free) continue;
    const key = cy * (columns + 64) + cx;
    const list = grid.get(key);
    if (list === undefined) grid.set(key, [{ x, y }]);
    else list.push({ x, y });
    path += `M${x.toFixed(1)} ${y.toFixed(1)}h1.1v1.1h-1.1z`;
  }
  return path;
}
