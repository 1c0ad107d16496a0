/**
 * A start for a flight home that needs no guess. The boostback is guessed from a closed form over a flat ground without air
 * and closed on where the body would fall; the landing burn from the closed form of a constant deceleration, on the path that
 * falls there.
 */
import { EARTH_GM_m3ps2, EARTH_ROTATION_radps } from '../constants/physical.ts';
import { inertialToEarthFixed, localBasis } from '../earth/frames.ts';
import { boostbackGuess, stoppingHeight_m, timeAloft_s } from '../recovery/closedForms.ts';
import type { CompiledReturn } from '../recovery/compile.ts';
import { readTouchdown, type ReturnEngine, type Touchdown } from '../recovery/engine.ts';
import { fullBurning, litEngines } from '../recovery/legs.ts';
import type { ReturnStart } from '../recovery/start.ts';

/** Elevations of the boostback to try in turn, rad. Common practice, no source. */
const ELEVATIONS_rad = [0, 15, -8, 30, 45, -20].map((deg) => (deg * Math.PI) / 180);
/** Entry burns to try in turn where its length is free, s. */
const ENTRY_BURNS_s = [8, 25, 1, 45];
/** Where the entry burn starts at first, where that is free, m; the others where its end is told. Common practice, no source. */
const ENTRY_HEIGHT_m = 55_000;
const ENTRY_HEIGHTS_m = [ENTRY_HEIGHT_m, 38_000, 28_000, 20_000];
/** No flight comes so low, m: the landing burn is left out. */
const NEVER_m = -1e7;
const MOST_ROUNDS = 25;
/** The fall is closed on the place to this, m: the programme does the rest. */
const CLOSE_m = 300;
/** Where the reserve is what the return takes, a guess is made again with what it would burn so often. */
const RESERVE_ROUNDS = 2;
/** Such a reserve is tried in turn, as a share of what is kept. */
const RESERVE_SHARES = [1, 1.5, 2, 3, 4];

export interface ReturnGuess {
  /** SI, radians. */
  readonly values: Float64Array;
  /** What it would burn, kg, roughly. */
  readonly burned_kg: number;
}

/** Why no guess can be made; null when one can. */
export type ReturnRefusal = { readonly thrust_N: number; readonly weight_N: number } | null;

/** Whether the landing engines can hold the body up at the mass at which it would land (kg): thrust and weight, N, if not. */
export function cannotHold(compiled: CompiledReturn, start: ReturnStart): ReturnRefusal {
  const { numbers, at } = compiled;
  const thrust_N = compiled.landingThrust_N * numbers[at.landingThrottle]!.upper;
  const weight_N = start.bare_kg * surfaceGravity_mps2(start);
  return thrust_N > weight_N ? null : { thrust_N, weight_N };
}

/** Numbers that come first in a flight home before anything is known: SI, radians. */
export function plainValues(compiled: CompiledReturn, start: ReturnStart): Float64Array {
  return Float64Array.from(compiled.numbers, ({ role, lower, upper }) => {
    switch (role) {
      case 'reserve':
        return start.reserve_kg;
      case 'entryHeight':
        return ENTRY_HEIGHT_m;
      case 'entryBurn':
        return ENTRY_BURNS_s[0]!;
      case 'boostBurn':
        return 1;
      case 'landingHeight':
        return 2000;
      case 'landingThrottle':
        return lower + 0.9 * (upper - lower);
      case 'landingBurn':
        return 20;
      default:
        return 0;
    }
  });
}

/**
 * Guesses for a solve, in groups that differ in their entry burn, likeliest group first; in a group the elevations of the
 * boostback, what would burn least first. SI and radians. `stop` is asked between flights; `tried` is called after each guess
 * that was worked on; `shares` of what is kept (unitless) are tried for a free reserve until some come down.
 */
export function* returnGuesses(
  engine: ReturnEngine,
  start: ReturnStart,
  base: Float64Array,
  stop: () => boolean = () => false,
  tried: () => void = () => undefined,
  shares: readonly number[] = RESERVE_SHARES,
): Generator<readonly ReturnGuess[]> {
  const { compiled } = engine;
  const { at } = compiled;
  const burns = at.entryBurn < 0 ? [Number.NaN] : ENTRY_BURNS_s;
  const elevations = at.boostBurn < 0 ? [Number.NaN] : ELEVATIONS_rad;
  const told = at.entryHeight >= 0 && at.entryBurn < 0;
  const entries = told
    ? ENTRY_HEIGHTS_m.map((height_m) => ({ height_m, burn: Number.NaN }))
    : burns.map((burn) => ({ height_m: ENTRY_HEIGHT_m, burn }));
  for (const { height_m, burn } of entries) {
    const group: ReturnGuess[] = [];
    // A heavier body may come to an edge that its burn keeps a lighter one from.
    for (const weight of compiled.plan.reserve.kind === 'taken' ? shares : [1]) {
      for (const elevation of elevations) {
        if (stop()) return;
        const values = Float64Array.from(base);
        values[at.reserve] = weight * base[at.reserve]!;
        if (at.entryHeight >= 0) values[at.entryHeight] = height_m;
        if (at.entryBurn >= 0) values[at.entryBurn] = burn;
        if (at.boostBurn >= 0) values[at.boostElevation] = elevation;
        const guess = guessFrom(engine, start, values, 0);
        tried();
        if (guess !== null) group.push(guess);
      }
      if (group.length >= (weight > 1 ? 2 : 1)) break;
    }
    group.sort((one, other) => one.burned_kg - other.burned_kg);
    // Only what is looked at is worth the flights that close its reserve.
    const closed = new Map<ReturnGuess, Float64Array>();
    yield group.map((guess) => ({
      burned_kg: guess.burned_kg,
      get values(): Float64Array {
        const known = closed.get(guess);
        if (known !== undefined) return known;
        const more = guessFrom(engine, start, Float64Array.from(guess.values), RESERVE_ROUNDS, guess);
        const { values } = more ?? guess;
        closed.set(guess, values);
        return values;
      },
    }));
  }
}

/**
 * Closes what is left open of a guess: boostback, landing and, where it is free, the reserve in so many rounds, from a guess
 * whose reserve is open if there is one. Null when it does not come down.
 */
function guessFrom(
  engine: ReturnEngine,
  start: ReturnStart,
  values: Float64Array,
  rounds: number,
  from: ReturnGuess | null = null,
): ReturnGuess | null {
  const { at, plan, landingFlow_kgps } = engine.compiled;
  let guess = from;
  if (from !== null) {
    if (plan.reserve.kind === 'given') return from;
    values[at.reserve] = (1 + plan.reserve.margin) * from.burned_kg;
  }
  for (let round = from === null ? 0 : 1; ; round++) {
    if (at.boostBurn >= 0) {
      if (plan.place.kind === 'downrange') values[at.boostAzimuth] = backward_rad(engine.compiled, start);
      else if (Number.isNaN(closeFall(engine, start, values, round > 0))) return guess;
    }
    if (!guessLanding(engine, start, values)) return guess;
    const mass = start.bare_kg + values[at.reserve]!;
    const landing_kg = values[at.landingThrottle]! * landingFlow_kgps * values[at.landingBurn]!;
    const burned_kg = mass - engine.masses_kg[engine.failedLeg]! + landing_kg;
    guess = { values: Float64Array.from(values), burned_kg };
    if (plan.reserve.kind === 'given' || round >= rounds) return guess;
    // What is kept weighs on what it takes.
    values[at.reserve] = (1 + plan.reserve.margin) * burned_kg;
  }
}

function surfaceGravity_mps2(start: ReturnStart): number {
  const r = Math.hypot(start.state[0]!, start.state[1]!, start.state[2]!);
  return EARTH_GM_m3ps2 / (r * r);
}

const touchdown: Touchdown = { miss_m: new Float64Array(3), velocity_mps: new Float64Array(3) };

/** Where the body would fall without its landing burn: miss east and north, m; NaN when it does not come down. */
function fall(engine: ReturnEngine, start: ReturnStart, values: Float64Array): [number, number] {
  const { at } = engine.compiled;
  const height = values[at.landingHeight]!;
  values[at.landingHeight] = NEVER_m;
  const code = engine.fly(values, start);
  values[at.landingHeight] = height;
  // What comes down before its entry burn has fallen as well.
  if (code !== 'impact') return [Number.NaN, Number.NaN];
  readTouchdown(engine.compiled, engine.driver.t, engine.driver.y, touchdown);
  return [touchdown.miss_m[0]!, touchdown.miss_m[1]!];
}

/** Sets azimuth and length of the boostback, from those it has if `near`, so that the fall ends at the place, elevation held; the miss left, m. */
function closeFall(engine: ReturnEngine, start: ReturnStart, values: Float64Array, near: boolean): number {
  const { compiled } = engine;
  const { at, numbers } = compiled;
  if (!near) {
    const guess = guessBoostback(compiled, start, values);
    if (guess === null) return Number.NaN;
    values[at.boostAzimuth] = guess.azimuth_rad;
    values[at.boostBurn] = Math.max(guess.burn_s, numbers[at.boostBurn]!.lower);
  }
  let [east, north] = fall(engine, start, values);
  for (let round = 0; round < MOST_ROUNDS && Math.hypot(east, north) > CLOSE_m; round++) {
    const azimuth = values[at.boostAzimuth]!;
    const burn = values[at.boostBurn]!;
    values[at.boostAzimuth] = azimuth + 1e-4;
    const [eastA, northA] = fall(engine, start, values);
    values[at.boostAzimuth] = azimuth;
    values[at.boostBurn] = burn + 1e-2;
    const [eastB, northB] = fall(engine, start, values);
    const ea = (eastA - east) / 1e-4;
    const na = (northA - north) / 1e-4;
    const eb = (eastB - east) / 1e-2;
    const nb = (northB - north) / 1e-2;
    const det = ea * nb - eb * na;
    const dAzimuth = -(east * nb - north * eb) / det;
    const dBurn = -(ea * north - na * east) / det;
    if (!Number.isFinite(dAzimuth + dBurn)) return Number.NaN;
    const before = Math.hypot(east, north);
    let share = Math.min(1, 0.5 / Math.abs(dAzimuth), (0.3 * burn + 1) / Math.abs(dBurn));
    for (let i = 0; i < 8; i++, share *= 0.5) {
      values[at.boostAzimuth] = azimuth + share * dAzimuth;
      values[at.boostBurn] = Math.max(burn + share * dBurn, numbers[at.boostBurn]!.lower);
      [east, north] = fall(engine, start, values);
      if (Math.hypot(east, north) < before) break;
    }
    if (!(Math.hypot(east, north) < before)) return Number.NaN;
  }
  return Math.hypot(east, north);
}

/** Place of the return (m) and velocity (m/s) against the body, east and north at parting over the turning ground. */
function overGround(
  compiled: CompiledReturn,
  start: ReturnStart,
): { to: Float64Array; velocity: Float64Array; basis: Float64Array } {
  const { state, time_s } = start;
  const angle = EARTH_ROTATION_radps * time_s;
  const position = new Float64Array(3);
  const speed = new Float64Array(3);
  inertialToEarthFixed(state[0]!, state[1]!, state[2]!, angle, position);
  const wx = state[3]! + EARTH_ROTATION_radps * state[1]!;
  const wy = state[4]! - EARTH_ROTATION_radps * state[0]!;
  inertialToEarthFixed(wx, wy, state[5]!, angle, speed);
  const basis = new Float64Array(9);
  localBasis(compiled.study.setting.figure, position[0]!, position[1]!, position[2]!, basis);
  const to = new Float64Array(3);
  const velocity = new Float64Array(3);
  for (let k = 0; k < 3; k++) {
    for (let i = 0; i < 3; i++) {
      velocity[k]! += basis[3 * k + i]! * speed[i]!;
      if (compiled.place !== null) to[k]! += basis[3 * k + i]! * (compiled.place.position[i]! - position[i]!);
    }
  }
  return { to, velocity, basis };
}

/** Azimuth against the velocity over the ground, rad. */
function backward_rad(compiled: CompiledReturn, start: ReturnStart): number {
  const { velocity } = overGround(compiled, start);
  return Math.atan2(-velocity[0]!, -velocity[1]!);
}

function guessBoostback(
  compiled: CompiledReturn,
  start: ReturnStart,
  values: Float64Array,
): ReturnType<typeof boostbackGuess> {
  const { plan, study, body } = compiled;
  const { to, velocity } = overGround(compiled, start);
  const height = study.setting.figure.height_m(start.state[0]!, start.state[1]!, start.state[2]!);
  const aloft = timeAloft_s(height, velocity[2]!, surfaceGravity_mps2(start));
  const { boostback } = plan;
  if (boostback === undefined) return null;
  const lit = litEngines(study.bodies[body]!.data.engineGroups, boostback.engines, boostback.throttle);
  const { thrust_N, flow_kgps } = fullBurning(lit);
  const mass = start.bare_kg + values[compiled.at.reserve]!;
  const halfTurn_s = Math.PI / compiled.turnRate_radps;
  const wait_s = plan.turn.wait_s + halfTurn_s;
  const [e, n, ve, vn] = [to[0]!, to[1]!, velocity[0]!, velocity[1]!];
  return boostbackGuess(e, n, ve, vn, aloft, wait_s, mass, thrust_N, flow_kgps);
}

/**
 * Sets height, length and lean of the landing burn from the path that falls to the ground: it starts where the height is that
 * in which a constant deceleration stops the fall, or comes nearest to it, and leans against the fall. False when the path does
 * not come down.
 */
function guessLanding(engine: ReturnEngine, start: ReturnStart, values: Float64Array): boolean {
  const { compiled } = engine;
  const { at, numbers } = compiled;
  if (fallsShort(engine, start, values)) return false;
  const { steps } = engine;
  const { figure } = compiled.study.setting;
  const gravity = surfaceGravity_mps2(start);
  const mass = engine.masses_kg[engine.failedLeg]!;
  const throttle = values[at.landingThrottle]!;
  const thrust = (throttle * compiled.landingThrust_N) / mass;
  if (!(thrust > gravity)) return false;
  const up = engine.landingRise();
  const y = new Float64Array(6);
  const basis = new Float64Array(9);
  let best = 0;
  // From the ground upwards, until the height left is that which stopping takes.
  for (let t = steps.end; t > engine.times_s[engine.failedLeg]! && best < 1; t -= 0.1) {
    steps.sample(t, y);
    const height = figure.height_m(y[0]!, y[1]!, y[2]!) - compiled.height_m;
    const wx = y[3]! + EARTH_ROTATION_radps * y[1]!;
    const wy = y[4]! - EARTH_ROTATION_radps * y[0]!;
    const speed = Math.hypot(wx, wy, y[5]!);
    localBasis(figure, y[0]!, y[1]!, y[2]!, basis);
    const along = (k: number): number => basis[k]! * wx + basis[k + 1]! * wy + basis[k + 2]! * y[5]!;
    const down = -along(6);
    if (!(down > 0)) break;
    const stop =
      (stoppingHeight_m(speed, thrust, gravity) * down) / speed + down * (up.delay_s + 0.5 * up.ramp_s);
    if (height / stop <= best) continue;
    best = height / stop;
    const { lower, upper } = numbers[at.landingHeight]!;
    values[at.landingHeight] = Math.min(Math.max(height + compiled.height_m, lower), upper);
    values[at.landingBurn] = Math.max(speed / (thrust - gravity) - 0.5 * up.ramp_s, 0.5);
    values[at.leanEastStart] = -along(0) / down;
    values[at.leanNorthStart] = -along(3) / down;
    values[at.leanEastEnd] = 0;
    values[at.leanNorthEnd] = 0;
  }
  return best > 0;
}

/** Flies without the landing burn; whether that ends before it is waited for. */
function fallsShort(engine: ReturnEngine, start: ReturnStart, values: Float64Array): boolean {
  fall(engine, start, values);
  const { end } = engine.legs[engine.failedLeg]!;
  return end.kind !== 'height' || end.number !== engine.compiled.at.landingHeight;
}
