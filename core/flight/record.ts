/** Flies a study once, finely, keeping everything: paths of all bodies, event log, ledger, orbit. */
import { orbitFromState, type Orbit } from '../earth/orbit.ts';
import { StepStore } from '../ode/dense.ts';
import { Driver, type Monitor } from '../ode/driver.ts';
import { AZIMUTH, PAYLOAD, recompile, type CompiledStudy } from './compile.ts';
import { RECORD_ACCURACY, type Accuracy } from './accuracy.ts';
import { FlightEngine } from './engine.ts';
import type { FlightStatus } from './flightStatus.ts';
import { launchFrame } from './launch.ts';
import { readLedger, type Ledger } from './ledger.ts';
import { readLedgerPhases, type LedgerPhase } from './ledgerPhases.ts';
import { buildLog, type LogEntry } from './log.ts';
import { Motion, STATE_SIZE } from './motion.ts';
import type { Branch, FlightPlan, PlannedGap } from './planTypes.ts';
import { applyKicks, turnAfter } from './spin.ts';
import { heldLaw } from './steering/spinning.ts';
import { impingementOf, strokesOf, type AirAtRelease, type ReleaseAir } from './pushes.ts';
import { segmentAt, TrackReader, type Track } from './track.ts';

export interface FlightCounts {
  readonly rightHandSides: number;
  readonly acceptedSteps: number;
  readonly rejectedSteps: number;
  readonly shortenedSteps: number;
}

export interface FlightRecord {
  readonly status: FlightStatus;
  /** Parameter values flown: SI, radians. */
  readonly values: Float64Array;
  /** The plan as flown: with the times that state triggers came about. */
  readonly plan: FlightPlan;
  /** Empty when the vehicle could not lift off. */
  readonly tracks: readonly Track[];
  readonly log: readonly LogEntry[];
  /** Null unless the flight came to insertion. */
  readonly ledger: Ledger | null;
  /** The same by spans between events; null when that is. */
  readonly ledgerPhases: readonly LedgerPhase[] | null;
  readonly orbit: Orbit | null;
  readonly gaps: readonly PlannedGap[];
  readonly counts: FlightCounts;
}

/** Where a freed piece counts as down: mean sea level of the figure. */
const GROUND_m = 0;

/**
 * Flies the study under parameter values (SI, radians), with ledger, and every freed piece to the ground. A flight that
 * fails is returned with its status and the path up to there; this never throws for a flight's sake. Where springs or
 * pushers part bodies, the flight is flown twice: how hard they push depends on payload and drag, and the second plan knows
 * both. The orbit is then off from that of a solve, which knew no drag there, by metres at most.
 */
export function recordFlight(
  compiled: CompiledStudy,
  values: Float64Array,
  accuracy: Accuracy = RECORD_ACCURACY,
): FlightRecord {
  const study = withPayload(compiled, values[PAYLOAD]!);
  const record = flyOnce(study, values, accuracy);
  if (sprung(study).length === 0) return record;
  const air = airMet({ ...study, plan: record.plan }, record);
  return air.size === 0 ? record : flyOnce(recompile(study, study.study, air), values, accuracy);
}

function flyOnce(study: CompiledStudy, values: Float64Array, accuracy: Accuracy): FlightRecord {
  const engine = new FlightEngine(study, accuracy, true);
  const kept = Float64Array.from(values);
  const code = engine.fly(kept);
  const plan = engine.planWithPieces();
  const compiled = { ...study, plan };
  const launch = launchFrame(compiled.site, kept[AZIMUTH]!);
  const first = plan.segments.findIndex((segment) => !segment.held);
  const tracks: Track[] = [];
  if (engine.steps.count > 0) {
    const main: Track = {
      id: 'main',
      bodies: plan.segments[plan.segments.length - 1]!.bodies,
      segments: plan.segments.slice(first),
      steps: engine.steps,
      start_s: engine.steps.start,
      end_s: code === 'flown' ? plan.insertion_s : engine.steps.end,
      end: code === 'flown' ? 'insertion' : code === 'impact' ? 'impact' : 'cut short',
      extra_kg: kept[PAYLOAD]!,
      heldAim: null,
      heldTurn: null,
    };
    tracks.push(main);
    const flown: (Track | null)[] = [];
    for (const branch of plan.branches) {
      const from = branch.fromBranch < 0 ? main : (flown[branch.fromBranch] ?? null);
      const start_s = branch.segments[0]?.start_s;
      if (from === null || start_s === undefined || start_s > from.end_s) {
        // What it would part from was down, or had broken off, before.
        flown.push(null);
        continue;
      }
      const at = new TrackReader(compiled, from, kept, launch).at(start_s, true);
      const state = at.state.slice(0, STATE_SIZE);
      const track = flyBranch(compiled, branch, state, at.aim.slice(), kept[PAYLOAD]!, accuracy);
      flown.push(track);
      tracks.push(track);
    }
  }
  const { driver } = engine;
  return {
    status: engine.status,
    values: kept,
    plan,
    tracks,
    log: buildLog(compiled, tracks, kept, launch),
    ledger: code === 'flown' ? readLedger(tracks[0]!, study.earth.rotation_radps) : null,
    ledgerPhases: code === 'flown' ? readLedgerPhases(compiled, tracks[0]!) : null,
    orbit: code === 'flown' ? orbitFromState(engine.end, study.earth.gm_m3ps2, study.earth.radius_m) : null,
    gaps: plan.gaps,
    counts: {
      rightHandSides: driver.stepper.evaluations,
      acceptedSteps: driver.acceptedSteps,
      rejectedSteps: driver.rejectedSteps,
      shortenedSteps: driver.shortenedSteps,
    },
  };
}

/** Links whose springs, pushers or plume the flight feels, as indices of the bodies that ride. */
function sprung(compiled: CompiledStudy): number[] {
  return compiled.bodies.flatMap(({ data: { link } }, body) =>
    link?.parting === 'pushed' && (strokesOf(link).length > 0 || impingementOf(link) !== null) ? [body] : [],
  );
}

/** The plan made again for the payload that is carried, kg, where springs push it. */
function withPayload(compiled: CompiledStudy, mass_kg: number): CompiledStudy {
  const { study } = compiled;
  if (study.payload.mass_kg === mass_kg || sprung(compiled).length === 0) return compiled;
  return recompile(compiled, { ...study, payload: { ...study.payload, mass_kg } });
}

/** Drag on both sides just after each release by springs, as a flight has met it. */
function airMet(compiled: CompiledStudy, { tracks, values }: FlightRecord): AirAtRelease {
  const air = new Map<number, ReleaseAir>();
  const launch = launchFrame(compiled.site, values[AZIMUTH]!);
  for (const body of sprung(compiled)) {
    const { id, parent } = compiled.bodies[body]!;
    const event = compiled.study.sequence.events.findIndex(
      ({ action }) => action.kind === 'part' && action.link === id,
    );
    const release_s = compiled.plan.eventTimes_s[event] ?? Number.NaN;
    const drag_N = (of: number): number => {
      const track = tracks.find(
        (each) =>
          each.start_s <= release_s &&
          release_s < each.end_s &&
          each.segments[segmentAt(each, release_s)]!.bodies.includes(of),
      );
      if (track === undefined) return Number.NaN;
      return -new TrackReader(compiled, track, values, launch).at(release_s).drag_N;
    };
    const met = { above_N: drag_N(body), below_N: drag_N(parent) };
    if (!Number.isNaN(met.above_N + met.below_N)) air.set(body, met);
  }
  return air;
}

/**
 * A freed piece: what is left of its thrust along the direction at parting, which turns on where the stack turned, then
 * ballistic, to the ground. `payload_kg` is what the vehicle carries.
 */
function flyBranch(
  compiled: CompiledStudy,
  branch: Branch,
  start: Float64Array,
  aim: Float64Array,
  payload_kg: number,
  accuracy: Accuracy,
): Track {
  const motion = new Motion(compiled.setting, false);
  const { figure } = compiled.setting;
  const absolute = new Float64Array(STATE_SIZE).fill(accuracy.speed_mps);
  absolute.fill(accuracy.position_m, 0, 3);
  const driver = new Driver(STATE_SIZE, {
    relative: accuracy.relative,
    absolute,
    longestStep: 20,
    mostSteps: 20_000,
  });
  const monitors: Monitor[] = [
    { direction: -1, value: (_t, y) => figure.height_m(y[0]!, y[1]!, y[2]!) - GROUND_m },
  ];
  const steps = new StepStore(STATE_SIZE);
  const { kicks, start_s = Number.NaN } = branch.segments[0] ?? {};
  const turn = turnAfter(kicks, aim, start, start_s);
  const jump = (own: typeof kicks, axis: Float64Array, y: Float64Array): void => {
    if (own !== undefined) applyKicks(own, payload_kg, axis, y, motion.rotation_radps);
  };
  jump(kicks, aim, start);
  const law = heldLaw(aim, turn);
  let end: Track['end'] = 'cut short';
  branch.segments.forEach((segment, index) => {
    if (end === 'impact' || (index > 0 && driver.t !== segment.start_s)) return;
    // What parts from it in turn gives it another jump.
    if (index > 0 && segment.kicks !== undefined) {
      const axis = aim.slice();
      law.point(segment.start_s, axis, driver.y);
      jump(segment.kicks, axis, driver.y);
    }
    motion.enter(segment, 0, compiled.drags[segment.arrangement]!, law);
    if (index === 0) driver.start(motion, segment.start_s, start);
    else driver.restart(motion);
    if (driver.advanceTo(motion, segment.end_s, monitors, steps) === 'event') end = 'impact';
  });
  return {
    id: branch.id,
    bodies: branch.bodies,
    segments: branch.segments,
    steps,
    start_s: steps.start,
    end_s: steps.end,
    end,
    extra_kg: 0,
    heldAim: aim,
    heldTurn: turn,
  };
}
