/**
 * A dense search for a flight of the empty vehicle to orbit: over the kick, the upper law is closed on radius and climb by
 * Newton's method of two unknowns, from several tangents; whether the speed then suffices is looked up. It shares the flight
 * with the solver and nothing else.
 */
import { PAYLOAD, startValues, type CompiledStudy } from '../../core/flight/compile.ts';
import { FlightEngine } from '../../core/flight/engine.ts';
import { OrbitTarget } from '../../core/solve/target.ts';

const ACCURACY = { relative: 1e-5, position_m: 10, speed_mps: 1e-2 };
const LEAST_KICK_deg = 0.01;
const MOST_KICK_deg = 40;
const KICKS = 32;
/** Tangents at the start and at the end of the upper law from which Newton's method sets out. */
const TANGENTS = [
  [0.2, -0.1],
  [0.8, -0.3],
  [2, -0.7],
  [0.6, 0.4],
] as const;
/** From the last kick's tangents Newton sets out each time, from those above at every fourth kick. */
const AFRESH = 4;
const NEWTON_STEPS = 12;
/** Give up when this many steps have not halved the miss. */
const PATIENCE = 3;
/** Residuals of radius and climb count as met below a kilometre and 10 m/s: far closer than any speed in doubt. */
const MET = 0.1;
/** The speed may fall short by this, in units of 100 m/s, and still count: 1 m/s. */
const SHORT = 0.01;

/** What flight reaches the orbit with at least no payload, in words; null when none is found. */
export function searchOrbit(compiled: CompiledStudy): string | null {
  const engine = new FlightEngine(compiled, ACCURACY);
  const target = new OrbitTarget(compiled.study.target, compiled.earth);
  const index = (end: string): number => compiled.parameters.findIndex(({ path }) => path.endsWith(end));
  const [kick, a, b] = [index('.law.angle_deg'), index('.law.a'), index('.law.b_per_s')];
  const upper = compiled.parameters[a]!.firstSegment;
  const { segments } = compiled.plan;
  const duration_s = segments[segments.length - 1]!.end_s - segments[upper]!.start_s;
  const values = startValues(compiled);
  values[PAYLOAD] = 0;
  const out = new Float64Array(target.count);
  const fly = (tangent: number, end: number): readonly [number, number, number] | null => {
    values[a] = tangent;
    values[b] = (end - tangent) / duration_s;
    if (engine.fly(values) !== 'flown') return null;
    target.residuals(engine.end, out);
    return [out[0]!, out[1]!, out[2]!];
  };
  let last: readonly [number, number] | null = null;
  for (let i = 0; i < KICKS; i++) {
    const kick_deg = LEAST_KICK_deg * (MOST_KICK_deg / LEAST_KICK_deg) ** (i / (KICKS - 1));
    values[kick] = (kick_deg * Math.PI) / 180;
    if (engine.fly(values, upper) !== 'flown') continue;
    const afresh = last === null || i % AFRESH === 0 ? TANGENTS : [];
    for (const start of last === null ? afresh : [last, ...afresh]) {
      const met = close(fly, start);
      if (met === null) continue;
      last = met.at;
      if (met.speed > -SHORT) {
        return `at a kick of ${kick_deg.toFixed(3)} deg, tangents ${met.at.map((t) => t.toFixed(4)).join(' and ')}, the empty vehicle has ${(100 * met.speed).toFixed(1)} m/s too much`;
      }
    }
  }
  return null;
}

type Fly = (tangent: number, end: number) => readonly [number, number, number] | null;

/** Newton's method on radius and climb, halving steps that fail or make it worse. */
function close(fly: Fly, start: readonly [number, number]): { at: [number, number]; speed: number } | null {
  let at: [number, number] = [...start];
  let here = fly(...at);
  if (here === null) return null;
  const size = (r: readonly number[]): number => Math.hypot(r[0]!, r[1]!);
  let mark = size(here);
  for (let step = 0; step < NEWTON_STEPS && size(here) > MET; step++) {
    if (step > 0 && step % PATIENCE === 0) {
      if (size(here) > 0.5 * mark) return null;
      mark = size(here);
    }
    const h = 1e-3;
    const p = fly(at[0] + h, at[1]);
    const q = fly(at[0], at[1] + h);
    if (p === null || q === null) return null;
    const j = [
      (p[0] - here[0]) / h,
      (q[0] - here[0]) / h,
      (p[1] - here[1]) / h,
      (q[1] - here[1]) / h,
    ] as const;
    const det = j[0] * j[3] - j[1] * j[2];
    let d0 = (-here[0] * j[3] + here[1] * j[1]) / det;
    let d1 = (-j[0] * here[1] + j[2] * here[0]) / det;
    const long = Math.max(1, Math.hypot(d0, d1));
    d0 /= long;
    d1 /= long;
    let better: readonly [number, number, number] | null = null;
    let next: [number, number] = at;
    for (let share = 1; share > 0.1; share /= 2) {
      next = [at[0] + share * d0, at[1] + share * d1];
      better = fly(...next);
      if (better !== null && size(better) < size(here)) break;
      better = null;
    }
    if (better === null) return null;
    at = next;
    here = better;
  }
  return size(here) <= MET ? { at, speed: here[2] } : null;
}
