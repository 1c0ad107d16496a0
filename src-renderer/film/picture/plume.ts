/** Gas as dots: each plume the same handful of them, thinning as it goes out. They stand still in the plume's own frame. */
import type { ClosePlume } from '../../../core/replay/closeUpParts.ts';
import type { Surface } from './type.ts';

/** How far each dot is along the plume and across it, −1 to 1; fixed once and for all. */
const DOTS: readonly (readonly [along: number, across: number])[] = (() => {
  let seed = 20_240_611;
  const next = (): number => {
    // A full-period generator of Lehmer's kind (Park and Miller, 1988).
    seed = (seed * 48_271) % 2_147_483_647;
    return seed / 2_147_483_647;
  };
  return Array.from({ length: 1400 }, () => [next() ** 1.7, next() + next() - 1] as const);
})();

/** Half the cone's opening in thin air: tangent of some 25 degrees; for the picture alone. */
const OPENING = 0.46;

/** Draws a plume of strength `share`; `at` turns metres into the context's units, `scale` is how many of them a metre has. */
export function drawPlume(
  context: Surface,
  plume: ClosePlume,
  at: (along_m: number, across_m: number) => readonly [number, number],
  scale: number,
  colour: string,
  /** Dots for each that there would be otherwise. */
  density = 1,
): void {
  const { mouth, halfWidth_m, angle_rad, length_m, share } = plume;
  if (share <= 0) return;
  const c = Math.cos(angle_rad);
  const s = Math.sin(angle_rad);
  const area = scale * length_m * scale * (2 * halfWidth_m + OPENING * length_m);
  const count = Math.min(DOTS.length, Math.round(density * share * (40 + area / 60)));
  const dot = Math.min(1.7, Math.max(1.1, 0.012 * scale * length_m));
  const strength = context.globalAlpha;
  context.fillStyle = colour;
  for (let i = 0; i < count; i++) {
    const [along, across] = DOTS[i]!;
    const out_m = along * length_m;
    const aside_m = across * (halfWidth_m + OPENING * out_m);
    const [x, y] = at(mouth[0] + out_m * c - aside_m * s, mouth[1] + out_m * s + aside_m * c);
    context.globalAlpha = strength * (1 - 0.85 * along);
    context.fillRect(x - dot / 2, y - dot / 2, dot, dot);
  }
  context.globalAlpha = strength;
}
