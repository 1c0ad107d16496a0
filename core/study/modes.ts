/**
 * Ways of staging side by side: for each the gap that it needs, the mass that it carries, the payload solved for again, and a
 * verdict with its reason.
 */
import type { Link, StagingMode } from '../contract/parting.ts';
import type { Study } from '../contract/study.ts';
import { recompile, type CompiledStudy } from '../flight/compile.ts';
import { recordFlight, type FlightRecord } from '../flight/record.ts';
import { chooseLink, PartingError, withPushedParting } from '../parting/links.ts';
import { safeIgnition, workOutParting, type Parting } from '../parting/parting.ts';
import { ignitionTimes, settlingBefore } from '../parting/settling/ignition.ts';
import { missingMotor, type SettlingMotor, type StagingSettling } from '../parting/settling/staging.ts';
import { compileAnswer, solveAnswer, type StudyAnswer } from '../solve/answer.ts';
import type { PayloadOutcome } from '../solve/payload.ts';
import { formatNumber } from '../units/format.ts';
import { BalanceError } from '../vehicle/balance.ts';
import { applyMode, modeMasses_kg } from './applyMode.ts';
import { GapError, gapEvent, gapOf_s, withGap } from './gap.ts';
import { coupledFigures, type CoupledFigures } from './sweep.ts';

export type ModeVerdict =
  /** Bodies part clear, the engine finds settled propellant, and a payload was found. */
  | 'works'
  /** It parts clear, but something that the engine asks for is missing. */
  | 'doubtful'
  /** The bodies do not part, or touch again. */
  | 'fails'
  | 'notSolved';

export interface ModeRow {
  readonly id: string;
  readonly name: string;
  /** Start command less last cut-off command; NaN when none could be found. */
  readonly gap_s: number;
  /** From the same and the half-thrust points, as flown. */
  readonly effectiveGap_s: number;
  /** By the id of the body that carries it. */
  readonly masses_kg: ReadonlyMap<string, number>;
  /** kg; NaN unless converged. */
  readonly payload_kg: number;
  readonly verdict: ModeVerdict;
  /** One sentence. */
  readonly reason: string;
  readonly parting: Parting | null;
  readonly settling: StagingSettling | null;
  readonly outcome: PayloadOutcome | null;
  /** The return that the row was solved with, and what is kept for it, kg; null where none was. */
  readonly coupled: CoupledFigures | null;
  /** The flight that the row tells of; null when none was flown. */
  readonly flown: { readonly compiled: CompiledStudy; readonly record: FlightRecord } | null;
  /** Where the propellant is not settled: the motors that would settle it, and what they cost. */
  readonly motor: NeededMotor | null;
}

/** Settling motors that bring the propellant home between release and thrust, their cases left out. */
export interface NeededMotor extends SettlingMotor {
  /** Payload that they cost by a solve with them, kg; NaN when that does not converge. */
  readonly cost_kg: number;
}

/** How heavy a ring may be before lighting early gains nothing any more. */
export interface BreakEven {
  /** The way with a ring, and the best of the others that work or are doubtful. */
  readonly ringed: string;
  readonly other: string;
  readonly gain_kg: number;
  /** Payload for a kilogram on the body that carries the ring, by a solve with 1 % more of the ring's mass. */
  readonly perKilogram: number;
  /** Mass of the ring at which both carry alike, kg, linear in the mass; NaN when not worked out. */
  readonly ring_kg: number;
}

export interface ModesResult {
  readonly rows: readonly ModeRow[];
  readonly breakEven: BreakEven | null;
  readonly cancelled: boolean;
}

/** Rounds in which gap and payload are brought to agree, and how closely, s. */
const ROUNDS = 4;
const CLOSE_s = 5e-3;

/** Id of the row that `ownWay` makes; no identifier of a study has a space. */
const OWN_WAY = 'own way';

/** The study names no ways of staging. */
export class ModesError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'ModesError';
  }
}

/**
 * The table of a study's ways of staging, in steps so that a caller can pause: yields rows done and in all. Gaps in s, masses
 * and payloads in kg. Throws ModesError when the study names none, GapError when it has no gap, PlanError when one cannot be
 * planned; what does not converge or part stands in its row.
 */
export function* modeSteps(
  study: Study,
  stop: () => boolean = () => false,
): Generator<{ done: number; of: number }, ModesResult> {
  const modes = Object.entries(study.stagingModes ?? {});
  if (modes.length === 0)
    throw new ModesError('stagingModes: received nothing, allowed is one or more ways of staging');
  const of = modes.length + 1;
  const rows: ModeRow[] = [];
  for (const [id, mode] of modes) {
    if (stop()) break;
    rows.push(workOutMode(study, id, mode, stop));
    yield { done: rows.length, of };
  }
  const breakEven = stop() ? null : breakEvenRing(study, rows, stop);
  yield { done: of, of };
  return { rows, breakEven, cancelled: stop() };
}

/**
 * The staging that the study itself describes as one row: its link's own mechanisms and kind of parting at its own gap (s), so
 * that it carries what the study does; masses in kg. Where the link parts bodies without force, how its mechanisms would part
 * them is read off a flight that feels them, under the same steering. Null where it has no gap or no outlines to part bodies by.
 */
export function ownWay(study: Study, stop: () => boolean = () => false): ModeRow | null {
  try {
    const link = chooseLink(study);
    const own = study.vehicle.bodies[link]!.link;
    const event = gapEvent(study);
    return workOutMode(
      study,
      OWN_WAY,
      {
        name: 'As in the study',
        ...{ link, event },
        ...(own?.rim === undefined ? {} : { rim: own.rim }),
        ...(own?.hold_s === undefined ? {} : { hold_s: own.hold_s }),
        mechanisms: own?.mechanisms ?? {},
        gapRule: { kind: 'fixed', gap_s: gapOf_s(study, event) },
      },
      stop,
      own?.parting,
    );
  } catch (error) {
    if (error instanceof GapError || error instanceof PartingError || error instanceof BalanceError)
      return null;
    throw error;
  }
}

/** The whole table at once; see `modeSteps`. Gaps in s, masses in kg. */
export function compareModes(study: Study): ModesResult {
  const steps = modeSteps(study);
  for (;;) {
    const step = steps.next();
    if (step.done === true) return step.value;
  }
}

interface Flown extends StudyAnswer {
  readonly record: FlightRecord;
}

function fly(study: Study, before: Flown | null, stop: () => boolean): Flown {
  const memory = before?.outcome.memory ?? null;
  const answer = solveAnswer(compileAnswer(study), { ...(memory === null ? {} : { memory }), stop });
  return { ...answer, record: recordFlight(answer.compiled, answer.outcome.values) };
}

/** The same flight with the link's mechanisms felt, under the same numbers; itself where it feels them. */
function felt(flown: Flown, link: string): Flown {
  const { compiled, outcome } = flown;
  const pushed = withPushedParting(compiled.study, link);
  if (pushed === compiled.study) return flown;
  const other = recompile(compiled, pushed);
  return { ...flown, compiled: other, record: recordFlight(other, outcome.values) };
}

function workOutMode(
  study: Study,
  id: string,
  mode: StagingMode,
  stop: () => boolean,
  kind: Link['parting'] = 'pushed',
): ModeRow {
  const event = gapEvent(study, mode.event);
  const staged = applyMode(study, mode, kind);
  const masses_kg = modeMasses_kg(study, mode);
  const base = { id, name: mode.name, masses_kg };
  const failed = (
    verdict: ModeVerdict,
    reason: string,
    flown: Flown | null,
    parting: Parting | null,
  ): ModeRow => ({
    ...base,
    gap_s: Number.NaN,
    effectiveGap_s: Number.NaN,
    payload_kg: Number.NaN,
    verdict,
    reason,
    parting,
    settling: null,
    motor: null,
    outcome: flown?.outcome ?? null,
    coupled: coupledFigures(flown?.coupled ?? null),
    flown,
  });
  // A cold gap is first tried long, so that the engine does not disturb what it is to follow from.
  let gap_s = mode.gapRule.kind === 'fixed' ? mode.gapRule.gap_s : Math.max(12, gapOf_s(study, event));
  let flown: Flown | null = null;
  for (let round = 0; round < ROUNDS; round++) {
    flown = fly(withGap(staged, event, gap_s), flown, stop);
    if (flown.outcome.status !== 'converged') return failed('notSolved', flown.outcome.message, flown, null);
    if (mode.gapRule.kind === 'fixed') break;
    const needed = neededGap_s(flown, mode, event, gap_s);
    if (Number.isNaN(needed.gap_s)) {
      const parting = workOutParting(flown.compiled, flown.record, mode.link);
      const reason = parting.phase.code === 'clear' ? needed.reason : parting.phase.message;
      return failed('fails', reason, flown, parting);
    }
    const change_s = Math.abs(needed.gap_s - gap_s);
    gap_s = needed.gap_s;
    if (change_s < CLOSE_s) break;
  }
  if (flown === null) throw new GapError('modes: no flight was flown');
  const { outcome, record } = flown;
  const pushed = felt(flown, mode.link);
  const parting = workOutParting(pushed.compiled, pushed.record, mode.link);
  const settling = settlingAt(pushed, mode, event);
  const planned = record.plan.gaps.find((gap) => study.sequence.events[gap.event]!.id === event);
  return {
    ...base,
    gap_s: planned?.command_s ?? gap_s,
    effectiveGap_s: planned?.effective_s ?? Number.NaN,
    payload_kg: outcome.payload_kg,
    ...judge(parting, settling),
    parting,
    settling,
    motor: neededMotor(study, mode, event, gap_s, flown, pushed, parting, settling, stop),
    outcome,
    coupled: coupledFigures(flown.coupled),
    flown: pushed,
  };
}

/** The motors that unsettled propellant asks for, and the payload with them at the same gap. */
function neededMotor(
  study: Study,
  mode: StagingMode,
  event: string,
  gap_s: number,
  flown: Flown,
  pushed: Flown,
  parting: Parting,
  settling: StagingSettling | null,
  stop: () => boolean,
): NeededMotor | null {
  if (settling === null || parting.phase.code !== 'clear') return null;
  const motor = missingMotor(settling, parting.case.release_s, parting.case.above.mass_kg);
  if (motor === null) return null;
  const { burn_s } = motor;
  if (Number.isNaN(motor.thrust_N)) return { ...motor, cost_kg: Number.NaN };
  const added: StagingMode = {
    ...mode,
    mechanisms: {
      ...mode.mechanisms,
      'settling-needed': {
        kind: 'settling',
        name: 'Settling motors',
        body: mode.link,
        mass_kg: 0,
        count: 1,
        pitchRadius_m: 0,
        thrust_N: motor.thrust_N,
        burn_s,
        propellant_kg: motor.propellant_kg,
        cant_deg: 0,
        ignitionDelay_s: 0,
      },
    },
  };
  // Motors push only where the flight feels them: what is held against it must feel its mechanisms too.
  const without = pushed === flown ? flown : fly(pushed.compiled.study, flown, stop);
  const { outcome } = fly(withGap(applyMode(study, added), event, gap_s), flown, stop);
  return { ...motor, cost_kg: without.outcome.payload_kg - outcome.payload_kg };
}

/** The gap that clearance, and with the rule `settled` the propellant, ask for in this flight. s */
function neededGap_s(
  flown: Flown,
  mode: StagingMode,
  event: string,
  flownGap_s: number,
): { gap_s: number; reason: string } {
  const { compiled, record } = flown;
  const { gapRule } = mode;
  if (gapRule.kind === 'fixed') return { gap_s: gapRule.gap_s, reason: '' };
  const times = ignitionTimes(compiled, record, event);
  const part = compiled.study.sequence.events.findIndex(
    ({ action }) => action.kind === 'part' && action.link === mode.link,
  );
  const release_s = record.plan.eventTimes_s[part]!;
  const safe = safeIgnition(compiled, record, mode.link, gapRule.clearance_m, times.delay_s);
  if (Number.isNaN(safe.delay_s)) {
    const reason = `${gapRule.clearance_m} m of gap never open between the bodies.`;
    return { gap_s: Number.NaN, reason };
  }
  let command_s = release_s + safe.delay_s;
  if (gapRule.kind === 'settled') {
    const settling = settlingAt(
      flown,
      mode,
      event,
      Math.max(times.command_s + times.delay_s, command_s + times.delay_s),
    );
    if (settling !== null) {
      // Settled when thrust would set in; the history of a longer coast holds that of a shorter.
      const from = settling.tanks.map(
        ({ history }) =>
          history.samples.find(
            ({ time_s, state }) => time_s >= command_s + times.delay_s && state === 'settled',
          )?.time_s ?? Number.NaN,
      );
      if (from.some(Number.isNaN))
        return {
          gap_s: Number.NaN,
          reason: 'Not every tank is settled at any time after the bodies are clear.',
        };
      command_s = Math.max(...from) - times.delay_s;
    }
  }
  // Below a step of the history's time the flown gap stands.
  const gap_s = command_s - times.cutoff_s;
  return { gap_s: Math.abs(gap_s - flownGap_s) < CLOSE_s ? flownGap_s : gap_s, reason: '' };
}

function settlingAt(
  flown: Flown,
  mode: StagingMode,
  event: string,
  until_s?: number,
): StagingSettling | null {
  return settlingBefore(flown.compiled, flown.record, mode.link, event, until_s);
}

/** Two digits are more than the criterion is good for. */
function times(margin: number): string {
  const round = Number(margin.toPrecision(2));
  return formatNumber(round, round < 10 ? 1 : 0);
}

function judge(parting: Parting, settling: StagingSettling | null): { verdict: ModeVerdict; reason: string } {
  const { phase } = parting;
  if (phase.code !== 'clear') return { verdict: 'fails', reason: phase.message };
  if (settling === null)
    return {
      verdict: 'doubtful',
      reason: 'The bodies part clear; without tanks nobody knows whether the propellant is settled.',
    };
  const worst = settling.tanks.reduce((a, b) => (b.margin < a.margin ? b : a));
  const name = worst.history.fill.tank.name.toLowerCase();
  switch (settling.state) {
    case 'settled':
      return {
        verdict: 'works',
        reason: `The bodies part clear and the propellant is settled: the ${name} is held with ${times(worst.margin)} times the critical Bond number.`,
      };
    case 'moving':
      return {
        verdict: 'doubtful',
        reason: `The bodies part clear, but nothing holds the propellant: in the ${name} it is ${(1000 * worst.displaced_m).toFixed(0)} mm out of place at ignition.`,
      };
    case 'unsettled':
      return {
        verdict: 'doubtful',
        reason: `The bodies part clear, but the propellant is unsettled: in the ${name} it has come away by ${(1000 * worst.displaced_m).toFixed(0)} mm at ignition.`,
      };
  }
}

/** The ring's mass that eats the gain over the best other way, from one solve with a heavier ring. */
function breakEvenRing(study: Study, rows: readonly ModeRow[], stop: () => boolean): BreakEven | null {
  const hasRing = (id: string): boolean =>
    Object.values(study.stagingModes![id]!.mechanisms).some(
      (each) => each.kind === 'ring' && each.impingement !== undefined,
    );
  const solved = rows.filter((row) => !Number.isNaN(row.payload_kg) && row.verdict !== 'fails');
  const ringed = solved.find((row) => hasRing(row.id));
  const best = (of: readonly ModeRow[]): ModeRow | undefined =>
    of.reduce<ModeRow | undefined>(
      (a, b) => (a === undefined || b.payload_kg > a.payload_kg ? b : a),
      undefined,
    );
  const others = solved.filter((row) => !hasRing(row.id));
  // A way that does what the engine asks for is the fair rival; without one, the best of the rest.
  const other = best(others.filter((row) => row.verdict === 'works')) ?? best(others);
  if (ringed === undefined || other === undefined) return null;
  const mode = study.stagingModes![ringed.id]!;
  const [key, ring] = Object.entries(mode.mechanisms).find(([, each]) => each.kind === 'ring')!;
  const ring_kg =
    ring.mass_kg +
    (ring.fitting === undefined ? 0 : study.vehicle.bodies[ring.body]!.fittings[ring.fitting]!.mass_kg);
  const more_kg = 0.01 * Math.max(ring_kg, 1);
  const heavier = {
    ...mode,
    mechanisms: { ...mode.mechanisms, [key]: { ...ring, mass_kg: ring.mass_kg + more_kg } },
  };
  const event = gapEvent(study, mode.event);
  const { outcome } = fly(withGap(applyMode(study, heavier), event, ringed.gap_s), null, stop);
  const gain_kg = ringed.payload_kg - other.payload_kg;
  const perKilogram = (ringed.payload_kg - outcome.payload_kg) / more_kg;
  return {
    ringed: ringed.id,
    other: other.id,
    gain_kg,
    perKilogram,
    ring_kg: ring_kg + gain_kg / perKilogram,
  };
}
