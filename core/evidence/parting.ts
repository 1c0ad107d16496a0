/** Published checks of the seconds around staging: bodies that part, and propellant that holds, gives way and comes back. */
import { FLUIDS, type FluidName } from '../constants/fluids.ts';
import { G0_mps2 } from '../constants/physical.ts';
import type { Contact } from '../parting/clearance.ts';
import { flyPhase, samplePhase, timeOfGap_s, type Phase } from '../parting/phase.ts';
import { bondNumber, CRITICAL_BOND, reorientationSpeed_mps } from '../parting/settling/interface.ts';
import { LOWER, SIZE, stateAtRelease, UPPER, type PartingBody, type TwoBodies } from '../parting/twoBody.ts';
import { criticalBond } from './meniscus.ts';
import { outcome, Rows, type EvidenceOutcome } from './rows.ts';

interface Sourced {
  readonly source: string;
  readonly status: string;
}
interface Pair {
  readonly upper_kg: number;
  readonly lower_kg: number;
}

export interface PublishedPartings {
  readonly springs: Sourced &
    Pair & {
      readonly count: number;
      readonly rate_Npm: number;
      readonly stroke_m: number;
      readonly relativeSpeed_mps: string;
      readonly strokeTime_s: string;
      readonly upperSpeed_mps: string;
      readonly lowerSpeed_mps: string;
    };
  readonly constantThrust: Sourced &
    Pair & {
      readonly upperThrust_N: number;
      readonly lowerThrust_N: number;
      readonly time_s: number;
      readonly gap_m: string;
      readonly speed_mps: string;
    };
  readonly impulse: Sourced &
    Pair & { readonly thrust_N: number; readonly burn_s: number; readonly speed_mps: string };
  readonly turning: Sourced &
    Pair & { readonly rate_radps: number; readonly time_s: number; readonly growth: string };
}

export interface PublishedSeparation extends Sourced {
  readonly separation: {
    readonly separation_s: number;
    readonly engineStart_s: number;
    readonly upperMass_kg: number;
    readonly lowerMass_kg: number;
  };
  readonly retroMotors: {
    readonly count: number;
    readonly thrust_N: number;
    readonly burn_s: number;
    readonly propellantTotal_kg: number;
    readonly status: string;
  };
  readonly ullageMotors: {
    readonly count: number;
    readonly thrust_N: number;
    readonly burn_s: number;
    readonly propellantEach_kg: number;
    readonly status: string;
  };
  readonly settlingAcceleration_mps2: { readonly value: string; readonly status: string };
  readonly closedForm: {
    readonly status: string;
    readonly gapAtEngineStart_m: string;
    readonly time_s: number;
    readonly gapThen_m: string;
  };
  readonly solidMotors: Sourced & { readonly ispLow_s: number; readonly ispHigh_s: number };
}

export interface PublishedSettling {
  readonly criticalBond: {
    readonly computed: { readonly value: string; readonly status: string; readonly note: string };
    readonly published: readonly (Sourced & { readonly value: string })[];
    readonly byContactAngle: Sourced & {
      readonly degrees: readonly number[];
      readonly value: readonly string[];
    };
  };
  readonly largeBubbles: Sourced & { readonly low: number; readonly high: number };
  readonly worked: Sourced & {
    readonly acceleration_mps2: number;
    readonly cases: readonly { readonly radius_m: number; readonly bond: string }[];
  };
  readonly saturation2bar: {
    readonly temperature_K: number;
    readonly density_kgpm3: number;
    readonly vapourDensity_kgpm3: number;
  };
  readonly correlation: Sourced & {
    readonly fluids: Readonly<
      Record<
        string,
        { readonly a: readonly number[]; readonly n: readonly number[]; readonly critical_K: number }
      >
    >;
  };
}

const never = (): number => 0;
const OPEN: Contact = { planeRadius_m: 0.01, rim: null };
const ARM_m = 5;

function body(mass_kg: number, motor_N: (t_s: number) => number = never): PartingBody {
  return {
    ...{ mass_kg: () => mass_kg, inertia_kgm2: 8 * mass_kg, centre_m: ARM_m },
    ...{ engine_N: never, aim: null, motor_N, dragAlong_N: never, dragAcross_N: never },
  };
}

function pair(upper: PartingBody, lower: PartingBody, more: Partial<TwoBodies> = {}): TwoBodies {
  return {
    ...{ upper, lower, pushers: [], impingement: null, plume_N: never, turning_radps: 0 },
    ...{ gradient_ps2: 0, vertical: [1, 0], ...more },
  };
}

function endOf({ steps }: Phase): Float64Array {
  const y = new Float64Array(SIZE);
  steps.sample(steps.end, y);
  return y;
}

const EXACT = 'the closed form is exact; the motion is integrated to 1e-11 a step, the printed digits decide';

/** The two-body phase against closed forms; speeds in m/s, times in s, lengths in m. */
export function checkPartings(published: PublishedPartings): EvidenceOutcome {
  const { springs, constantThrust, impulse, turning } = published;
  const one = new Rows(springs);
  const sprung = pair(body(springs.upper_kg), body(springs.lower_kg), {
    pushers: Array.from({ length: springs.count }, (_, k) => ({
      offset_m: -0.6 * Math.cos((2 * Math.PI * k) / springs.count),
      force_N: springs.rate_Npm * springs.stroke_m,
      slope_Npm: springs.rate_Npm,
      stroke_m: springs.stroke_m,
    })),
  });
  const pushed = flyPhase(sprung, OPEN, { far_m: 3 });
  const after = endOf(pushed);
  const [up, down] = [after[UPPER + 2]!, after[LOWER + 2]!];
  one.digits('relative speed after springs', 'm/s', up - down, springs.relativeSpeed_mps, EXACT, 2);
  one.digits('speed of the upper body', 'm/s', up, springs.upperSpeed_mps, EXACT, 2);
  one.digits('speed of the lower body', 'm/s', down, springs.lowerSpeed_mps, EXACT, 2);
  const stroke_s = timeOfGap_s(sprung, pushed.steps, springs.stroke_m);
  one.digits('time of the stroke', 's', stroke_s, springs.strokeTime_s, EXACT, 2);

  const two = new Rows(constantThrust);
  const driven = pair(
    body(constantThrust.upper_kg, () => constantThrust.upperThrust_N),
    body(constantThrust.lower_kg, () => constantThrust.lowerThrust_N),
  );
  const run = flyPhase(driven, OPEN, { longest_s: constantThrust.time_s + 1, far_m: 1000 });
  const then = samplePhase(driven, OPEN, run.steps, constantThrust.time_s);
  two.digits('gap under constant thrust', 'm', then.gap_m, constantThrust.gap_m, EXACT, 2);
  two.digits(
    'rate of that gap',
    'm/s',
    then.speed_mps,
    constantThrust.speed_mps,
    'a difference over 0.2 ms',
    5,
  );

  const three = new Rows(impulse);
  const kicked = pair(
    body(impulse.upper_kg, (t) => (t < impulse.burn_s ? impulse.thrust_N : 0)),
    body(impulse.lower_kg),
  );
  const kick = flyPhase(kicked, OPEN, { longest_s: 4, breaks_s: [impulse.burn_s] });
  three.digits('speed from a motor', 'm/s', endOf(kick)[UPPER + 2]!, impulse.speed_mps, EXACT, 2);

  const four = new Rows(turning);
  const spun = pair(body(turning.upper_kg), body(turning.lower_kg), { turning_radps: turning.rate_radps });
  const start = stateAtRelease(spun);
  const spin = endOf(flyPhase(spun, OPEN, { longest_s: turning.time_s, far_m: 1000 }));
  const apart = (y: Float64Array): number => Math.hypot(y[UPPER]! - y[LOWER]!, y[UPPER + 1]! - y[LOWER + 1]!);
  four.digits(
    'distance after spin release over that before',
    '',
    apart(spin) / apart(start),
    turning.growth,
    EXACT,
    2,
  );
  return outcome(
    'parting',
    'Two bodies that part',
    'Springs, thrust, a motor and spin between two free bodies, against impulse and momentum, energy and uniform motion.',
    [...one.rows, ...two.rows, ...three.rows, ...four.rows],
  );
}

/** A reported separation by motors: masses and motors from its report, distances by closed form. SI. */
export function checkSeparation(id: string, title: string, report: PublishedSeparation): EvidenceOutcome {
  const { source, separation, retroMotors, ullageMotors, closedForm, solidMotors } = report;
  const retro_N = retroMotors.count * retroMotors.thrust_N;
  const ullage_N = ullageMotors.count * ullageMotors.thrust_N;
  const bodies = pair(
    body(separation.upperMass_kg, () => ullage_N),
    body(separation.lowerMass_kg, (t) => (t < retroMotors.burn_s ? -retro_N : 0)),
  );
  const phase = flyPhase(bodies, OPEN, {
    ...{ breaks_s: [retroMotors.burn_s], far_m: 500, longest_s: closedForm.time_s },
  });
  const gap_m = (t_s: number): number => samplePhase(bodies, OPEN, phase.steps, t_s).gap_m;
  const settle = new Rows({ source, status: report.settlingAcceleration_mps2.status });
  settle.digits(
    'acceleration under the ullage motors',
    'm/s²',
    phase.opening.upper_mps2,
    report.settlingAcceleration_mps2.value,
    'thrust and mass as published; printed to four digits',
  );
  const gaps = new Rows({ source, status: closedForm.status });
  const start_s = separation.engineStart_s - separation.separation_s;
  const why = 'constant accelerations by closed form, to the printed digits';
  gaps.digits('gap at engine start', 'm', gap_m(start_s), closedForm.gapAtEngineStart_m, why);
  gaps.digits('gap when the ullage motors end', 'm', gap_m(closedForm.time_s), closedForm.gapThen_m, why);
  // A plausibility of thrust, burn time and propellant together: the report says that the motors did as predicted.
  const motors = new Rows(solidMotors);
  const range = [solidMotors.ispLow_s, solidMotors.ispHigh_s] as const;
  const retroIsp_s = (retro_N * retroMotors.burn_s) / (retroMotors.propellantTotal_kg * G0_mps2);
  const ullageIsp_s =
    (ullageMotors.thrust_N * ullageMotors.burn_s) / (ullageMotors.propellantEach_kg * G0_mps2);
  const plausible = 'a plausibility alone: what thrust, burn time and propellant come to';
  motors.range('specific impulse that the retro motors imply', 's', retroIsp_s, range, 0, plausible);
  motors.range('specific impulse that the ullage motors imply', 's', ullageIsp_s, range, 0, plausible);
  return outcome(
    id,
    title,
    'The two-body phase with the reported masses and motors; the report says that the stages parted cleanly.',
    [...settle.rows, ...gaps.rows, ...motors.rows],
    [
      `Retro motors: ${retroMotors.status}. Ullage motors: ${ullageMotors.status}.`,
      'No distance between the stages was published: those here are computed from the published motors and masses.',
    ],
  );
}

/** Bond numbers, the critical one, surface tensions and the reorientation correlation. Dimensionless, N/m, m/s. */
export function checkSettling(published: PublishedSettling): EvidenceOutcome {
  const { criticalBond: critical, largeBubbles, worked, saturation2bar, correlation } = published;
  const zero = criticalBond(0);
  const bond = new Rows({ source: critical.computed.note, status: critical.computed.status });
  const digits = 'the printed digits, half a unit of the last';
  bond.digits('critical Bond number, zero contact angle', '', zero, critical.computed.value, digits);
  for (const { source, status, value } of critical.published) {
    const own = new Rows({ source, status });
    own.digits('critical Bond number, zero contact angle', '', zero, value, digits, 0.5);
    bond.rows.push(...own.rows);
  }
  const used = new Rows({ source: critical.computed.note, status: critical.computed.status });
  used.compare({
    ...{ quantity: 'critical Bond number that verdicts use', unit: '', published: critical.computed.value },
    ...{ ours: CRITICAL_BOND, tolerance: 5e-5, why: 'kept to three digits, as it was published' },
  });
  const angles = new Rows(critical.byContactAngle);
  critical.byContactAngle.degrees.forEach((angle_deg, i) => {
    const value = critical.byContactAngle.value[i]!;
    angles.digits(`critical Bond number at ${angle_deg}°`, '', criticalBond(angle_deg), value, digits);
  });

  const cases = new Rows(worked);
  const oxygen = correlation.fluids['oxygen']!;
  const tension_Npm = tensionOf(oxygen, saturation2bar.temperature_K);
  for (const { radius_m, bond: printed } of worked.cases) {
    const density_kgpm3 = saturation2bar.density_kgpm3 - saturation2bar.vapourDensity_kgpm3;
    cases.compare({
      ...{ quantity: `Bond number of oxygen at ${radius_m} m`, unit: '', published: printed },
      ours: bondNumber(density_kgpm3, worked.acceleration_mps2, radius_m, tension_Npm),
      tolerance: 0.05 + 0.02 * Number(printed),
      why: 'half a unit of the last digit, and 2 % since density and tension at 2 bar are not printed there',
    });
  }
  const tensions = new Rows(correlation);
  for (const [name, fluid] of Object.entries(correlation.fluids)) {
    const kept = FLUIDS[name as FluidName];
    const theirs = tensionOf(fluid, kept.temperature_K);
    tensions.compare({
      ...{ quantity: `surface tension of ${name}`, unit: 'N/m', published: theirs.toPrecision(5) },
      ...{ ours: kept.surfaceTension_Npm, tolerance: 1e-3 * theirs, why: 'kept to four digits or five' },
    });
  }
  const bubbles = new Rows(largeBubbles);
  bubbles.range(
    'speed of reorientation over √(a R), large Bond number',
    '',
    reorientationSpeed_mps(4, 1, 1e6) / 2,
    [largeBubbles.low, largeBubbles.high],
    0,
    'large bubbles rise as the edge runs; the correlation itself is from memory, so its size alone is checked',
  );
  return outcome(
    'settling',
    'Propellant that holds or gives way',
    'The critical Bond number from the meridian of the meniscus; fluids; the size of the reorientation correlation.',
    [...bond.rows, ...used.rows, ...angles.rows, ...cases.rows, ...tensions.rows, ...bubbles.rows],
    [
      'The reorientation correlation (NASA TN D-3005) is from memory: its report was not read, and below large Bond numbers nothing here checks it.',
    ],
  );
}

function tensionOf(
  { a, n, critical_K }: PublishedSettling['correlation']['fluids'][string],
  temperature_K: number,
): number {
  return a.reduce((sum, each, i) => sum + each * (1 - temperature_K / critical_K) ** n[i]!, 0);
}
