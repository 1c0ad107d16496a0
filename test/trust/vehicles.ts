/**
 * Random vehicles as studies, one for each seed: two to four stages in series, in the ranges of `RANGES`. The numbers are
 * drawn one by one; a vehicle whose parts do not go together is drawn again, so that within the ranges the distributions lean
 * toward vehicles that can be built.
 */
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { validateStudy } from '../../core/contract/load.ts';
import type { Study } from '../../core/contract/study.ts';

const G0_mps2 = 9.80665;
const SEA_LEVEL_Pa = 101_325;

/** Lowest and highest of what is drawn evenly. Thrust to weight and ideal velocity are those without payload. */
const RANGES = {
  stages: [2, 4],
  liftoffThrustToWeight: [1.15, 1.8],
  upperThrustToWeight: [0.35, 1.6],
  structuralRatio: [0.04, 0.2],
  ispVacuum_s: [230, 460],
  idealVelocity_mps: [8500, 13_000],
  latitude_deg: [0, 75],
  azimuth_deg: [0, 360],
  height_m: [160_000, 1_200_000],
  gap_s: [-3, 40],
  liftoffMass_kg: [8000, 4_000_000],
} as const;

/** Ideal velocity that the first stage and one above it give at least, the last apart, m/s. */
const LEAST_FIRST_mps = 2000;
const LEAST_SHARE_mps = 700;
/** Most that a stage weighs against all that it carries. */
const MOST_STAGE_RATIO = 40;

/** Drag against Mach number of a slender body; invented. */
const MACH = [0, 0.6, 0.8, 0.9, 1, 1.1, 1.3, 1.6, 2, 3, 4, 6, 10, 25];
const DRAG = [0.25, 0.25, 0.28, 0.34, 0.45, 0.5, 0.47, 0.4, 0.34, 0.26, 0.22, 0.19, 0.18, 0.18];

type Range = readonly [number, number];

/** Numbers drawn from a seed. */
class Draw {
  private readonly generator;

  constructor(seed: number) {
    this.generator = xoroshiro128plus(seed);
  }

  between([low, high]: Range): number {
    return low + (high - low) * uniformFloat64(this.generator);
  }

  /** Evenly in the logarithm. */
  decades([low, high]: Range): number {
    return low * (high / low) ** uniformFloat64(this.generator);
  }

  /** A whole number, both ends included. */
  whole([low, high]: Range): number {
    return Math.min(high, Math.floor(this.between([low, high + 1])));
  }
}

interface Stage {
  readonly isp_s: number;
  readonly structuralRatio: number;
  /** In units of the mass of the last stage. */
  readonly mass: number;
  /** Of the stage and all that it carries, in the same unit. */
  readonly stack: number;
  readonly velocity_mps: number;
}

/** Stages from the lowest up, or null when the numbers drawn do not go together. */
function drawStages(draw: Draw): Stage[] | null {
  const count = draw.whole(RANGES.stages);
  const isp = Array.from({ length: count }, () => draw.between(RANGES.ispVacuum_s));
  const ratio = Array.from({ length: count }, () => draw.between(RANGES.structuralRatio));
  const all_mps = draw.between(RANGES.idealVelocity_mps);
  const shares = Array.from({ length: count - 1 }, () => draw.between([0.5, 1.5]));
  // Without payload the last stage's ideal velocity is fixed by its structure.
  const last_mps = G0_mps2 * isp[count - 1]! * Math.log(1 / ratio[count - 1]!);
  const left_mps = all_mps - last_mps;
  const whole = shares.reduce((sum, share) => sum + share, 0);
  const stages: Stage[] = [
    { isp_s: isp[count - 1]!, structuralRatio: ratio[count - 1]!, mass: 1, stack: 1, velocity_mps: last_mps },
  ];
  for (let i = count - 2; i >= 0; i--) {
    const velocity_mps = (left_mps * shares[i]!) / whole;
    const carried = stages[0]!.stack;
    const massRatio = Math.exp(velocity_mps / (G0_mps2 * isp[i]!));
    const mass = (carried * (massRatio - 1)) / (1 - massRatio * ratio[i]!);
    const least_mps = i === 0 ? LEAST_FIRST_mps : LEAST_SHARE_mps;
    if (velocity_mps < least_mps || !(mass > 0 && mass <= MOST_STAGE_RATIO * carried)) return null;
    stages.unshift({ isp_s: isp[i]!, structuralRatio: ratio[i]!, mass, stack: carried + mass, velocity_mps });
  }
  return stages;
}

/** The study of one seed (a whole number); the same seed always gives the same. Throws when it is not valid, which is a fault here. */
export function randomStudy(seed: number): Study {
  const draw = new Draw(seed);
  let stages = drawStages(draw);
  while (stages === null) stages = drawStages(draw);
  const liftoff_kg = draw.decades(RANGES.liftoffMass_kg);
  const unit_kg = liftoff_kg / stages[0]!.stack;
  const area_m2 = 10 * (liftoff_kg / 1e5) ** (2 / 3) * draw.decades([0.6, 1.6]);
  const names = stages.map((_, i) => `stage${i + 1}`);
  const bodies: Record<string, unknown> = {};
  let burn_s = 0;
  const engineCounts: number[] = [];
  stages.forEach((stage, i) => {
    const count = draw.whole([1, 9]);
    engineCounts.push(count);
    const weight_N = stage.stack * unit_kg * G0_mps2;
    const first = i === 0;
    const atStart_N =
      weight_N * draw.between(first ? RANGES.liftoffThrustToWeight : RANGES.upperThrustToWeight);
    // What the air takes off an engine at sea level, as a share of its vacuum thrust.
    const taken = first ? draw.between([0.05, 0.2]) : draw.between([0.1, 0.9]);
    const thrust_N = first ? atStart_N / (1 - taken) : atStart_N;
    const usable_kg = stage.mass * unit_kg * (1 - stage.structuralRatio);
    if (first) burn_s = (usable_kg * G0_mps2 * stage.isp_s) / thrust_N;
    bodies[names[i]!] = {
      name: `stage ${i + 1}`,
      role: first ? 'booster' : 'upper',
      ...(first ? {} : { ridesOn: names[i - 1] }),
      dryMass_kg: stage.mass * unit_kg * stage.structuralRatio,
      propellant: { usable_kg },
      engineGroups: {
        main: {
          name: 'engines',
          count,
          thrustVacuum_N: thrust_N / count,
          ispVacuum_s: stage.isp_s,
          exitArea_m2: (taken * thrust_N) / SEA_LEVEL_Pa / count,
          startUp: { delay_s: 0, ramp_s: first ? 0 : draw.between([0, 2]) },
          shutDown: { delay_s: 0, ramp_s: draw.between([0, 1]) },
        },
      },
    };
  });
  const height_m = Math.round(draw.between(RANGES.height_m));
  const gap_s = draw.between(RANGES.gap_s);
  return accepted(seed, {
    format: 1,
    title: `Random vehicle ${seed}`,
    earth: { gravity: 'central', figure: 'sphere', atmosphere: { kind: 'us1976' } },
    site: {
      name: 'site',
      latitude_deg: draw.between(RANGES.latitude_deg),
      longitude_deg: 0,
      height_m: 0,
    },
    target: { perigee_m: height_m, apogee_m: height_m },
    payload: { mass_kg: 0, ridesOn: names[names.length - 1] },
    vehicle: {
      name: `random vehicle ${seed}`,
      bodies,
      aerodynamics: arrangements(names).map((flying) => ({
        bodies: flying,
        referenceArea_m2: area_m2,
        dragCoefficient: { mach: MACH, value: DRAG },
      })),
    },
    sequence: {
      launchAzimuth_deg: draw.between(RANGES.azimuth_deg),
      finalCutoff: `cutoff${names.length}`,
      events: [
        ...launch(Math.min(10, 0.08 * burn_s), Math.min(8, 0.08 * burn_s)),
        ...names
          .slice(1)
          .flatMap((_, i) => staging(i + 1, i === 0 ? gap_s : draw.between([0.5, 3]), engineCounts[i]!)),
        event(
          'tangent',
          { kind: 'after', events: ['separation1', 'ignition2'] },
          {
            kind: 'steer',
            law: { kind: 'linearTangent', a: 0.5, b_per_s: -0.001 },
          },
        ),
        cutoff(names.length),
      ],
    },
  });
}

function accepted(seed: number, document: unknown): Study {
  const result = validateStudy(document);
  if (!result.ok) {
    throw new Error(`seed ${seed}: ${result.problems.map((problem) => problem.sentence).join('\n')}`);
  }
  return result.study;
}

/** Every stack that flies, and every stage that has fallen away. */
function arrangements(names: readonly string[]): string[][] {
  const stacks = names.map((_, i) => names.slice(i));
  return [...stacks, ...names.slice(0, -1).map((name) => [name])];
}

function event(id: string, trigger: unknown, action: unknown): unknown {
  return { id, name: id, trigger, action };
}

function launch(rise_s: number, kick_s: number): unknown[] {
  const start = { kind: 'time', time_s: 0 };
  return [
    event('ignition1', start, { kind: 'light', body: 'stage1', group: 'main' }),
    event('release', start, { kind: 'release' }),
    event('rise', start, { kind: 'steer', law: { kind: 'vertical' } }),
    event(
      'kick',
      { kind: 'time', time_s: rise_s },
      {
        kind: 'steer',
        law: { kind: 'kick', angle_deg: 2, duration_s: kick_s },
      },
    ),
    event(
      'turn',
      { kind: 'after', events: ['kick'], delay_s: kick_s },
      {
        kind: 'steer',
        law: { kind: 'zeroAlpha' },
      },
    ),
  ];
}

function cutoff(stage: number): unknown {
  return event(
    `cutoff${stage}`,
    { kind: 'propellant', body: `stage${stage}`, left: 'reserves' },
    { kind: 'cut', body: `stage${stage}` },
  );
}

/**
 * Cut-off, parting and ignition between a stage (counted from 1) and the next. With an overlap, half of the engines are
 * cut when the next stage lights; with a gap, the parting comes within it.
 */
function staging(stage: number, gap_s: number, engines: number): unknown[] {
  const done = `cutoff${stage}`;
  const overlaps = gap_s < 0;
  const ignition = event(
    `ignition${stage + 1}`,
    { kind: 'gap', cutoff: done, gap_s },
    {
      kind: 'light',
      body: `stage${stage + 1}`,
      group: 'main',
    },
  );
  const parting = event(
    `separation${stage}`,
    { kind: 'after', events: [done], delay_s: overlaps ? 0 : 0.3 * gap_s },
    { kind: 'part', link: `stage${stage + 1}` },
  );
  const partial = event(
    `partial${stage}`,
    { kind: 'after', events: [`ignition${stage + 1}`] },
    { kind: 'cut', body: `stage${stage}`, keep: Math.ceil(engines / 2) },
  );
  return [cutoff(stage), parting, ignition, ...(overlaps && engines > 1 ? [partial] : [])];
}
