/** Which elementary functions this engine has: they may differ by the last digit between engines, and then so do results. */

const FUNCTIONS: readonly ((x: number) => number)[] = [
  (x) => Math.sin(x),
  (x) => Math.cos(x),
  (x) => Math.tan(x),
  (x) => Math.asin(x),
  (x) => Math.acos(x),
  (x) => Math.atan(x),
  (x) => Math.exp(x),
  (x) => Math.log(x),
  (x) => Math.sqrt(x),
  (x) => Math.cbrt(x),
  (x) => Math.log1p(x),
  (x) => Math.expm1(x),
  (x) => Math.atan2(x, 0.7),
  (x) => Math.hypot(x, 0.3, 1.7),
  (x) => Math.pow(x, 5.2558797),
  (x) => x ** 0.19026,
];
const POINTS = 512;

/**
 * Eight hexadecimal digits over the bits of elementary functions at many points (FNV-1a, 32 bits): two engines with the
 * same digits agree at all of these points, and results from engines with others must not be mixed. Unitless.
 */
export function engineFingerprint(): string {
  const value = new Float64Array(1);
  const bytes = new Uint8Array(value.buffer);
  let hash = 0x811c9dc5;
  for (const f of FUNCTIONS) {
    for (let i = 1; i <= POINTS; i++) {
      // Within the domain of all of them, and of no special form; the larger arguments are reduced by the engine.
      const x = i * 0.618033988749895 - Math.floor(i * 0.618033988749895);
      for (const argument of [x, 37.3 * x]) {
        value[0] = f(argument);
        if (Number.isNaN(value[0])) value[0] = 0;
        for (const byte of bytes) hash = Math.imul(hash ^ byte, 0x01000193);
      }
    }
  }
  return (hash >>> 0).toString(16).padStart(8, '0');
}
