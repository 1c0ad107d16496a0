/** Figures that a demo's notes state, worked out anew: what a second of gap costs, and why. */
import type { Study } from '../../core/contract/study.ts';
import { compileStudy, type CompiledStudy } from '../../core/flight/compile.ts';
import type { Ledger } from '../../core/flight/ledger.ts';
import type { LogEntry } from '../../core/flight/log.ts';
import { recordFlight, type FlightRecord } from '../../core/flight/record.ts';
import { solvePayload } from '../../core/solve/payload.ts';
import { gapEvent, gapOf_s, withGap } from '../../core/study/gap.ts';

const G0_mps2 = 9.80665;
/** Both gaps are cold and longer than any demo's time from cut-off to parting, so only the wait differs. */
const FROM_s = 5;
const TO_s = 15;

export interface Solved {
  readonly study: Study;
  readonly compiled: CompiledStudy;
  readonly payload_kg: number;
  readonly record: FlightRecord;
  readonly ledger: Ledger;
}

/** The cold solve of a study as it stands or at another gap (s). Throws when it does not converge. */
export function solved(study: Study, gap_s = gapOf_s(study, gapEvent(study))): Solved {
  const own = withGap(study, gapEvent(study), gap_s);
  const compiled = compileStudy(own);
  const outcome = solvePayload(compiled);
  if (outcome.status !== 'converged') throw new Error(`gap ${gap_s} s: ${outcome.message}`);
  const record = recordFlight(compiled, outcome.values);
  if (record.ledger === null) throw new Error(`gap ${gap_s} s: ${record.status.message}`);
  return { study: own, compiled, payload_kg: outcome.payload_kg, record, ledger: record.ledger };
}

/** The entry of a flight's log with this id. */
export function entry(record: FlightRecord, id: string): LogEntry {
  const found = record.log.find((each) => each.id === id);
  if (found === undefined) throw new Error(`the log has no "${id}"`);
  return found;
}

export interface Figures {
  /** At the study's own gap. */
  readonly payload_kg: number;
  readonly shareOfLiftoff: number;
  readonly shareOfInsertion: number;
  /** At ignition after 5 s of gap: full vacuum thrust over weight, and the flight path. */
  readonly thrustToWeight: number;
  readonly flightPathAngle_deg: number;
  /** g sin γ there, against the turning Earth: what a second of coasting takes off the speed, m/s. */
  readonly coasting_mps: number;
  /** From 5 to 15 s of gap, re-optimised, per second. */
  readonly payloadLoss_kgps: number;
  readonly payloadLoss_percentps: number;
  readonly velocityLoss_mpsps: number;
  /** Payload for 1 m/s by the first-order formula. */
  readonly worth_kgpmps: number;
  readonly worth_percentpmps: number;
  /** Payload for one kilogram less on the booster, by solving again with 1 % more dry mass. */
  readonly boosterKilogram_kg: number;
  /** Payload lost from 5 to 15 s: by the formula from the ledger's losses, and by solving again. */
  readonly firstOrder_kg: number;
  readonly solvedAgain_kg: number;
  readonly masses: Masses;
}

/** Masses in kg and exhaust speeds in m/s of the first-order formula, at 5 s of gap. */
export interface Masses {
  readonly liftoff_kg: number;
  readonly meco_kg: number;
  readonly ignition_kg: number;
  readonly insertion_kg: number;
  readonly boosterExhaust_mps: number;
  readonly upperExhaust_mps: number;
}

/** Works all figures out: four cold solves. */
export function figuresOf(study: Study): Figures {
  const own = solved(study);
  const short = solved(study, FROM_s);
  const long = solved(study, TO_s);
  const heavier = structuredClone(study);
  const more_kg = 0.01 * heavier.vehicle.bodies['booster']!.dryMass_kg;
  heavier.vehicle.bodies['booster']!.dryMass_kg += more_kg;
  const masses = massesOf(short);
  const ignition = entry(short.record, 'ignition');
  const [group] = Object.values(study.vehicle.bodies['upper']!.engineGroups);
  const sine = Math.sin((ignition.flightPathAngle_deg * Math.PI) / 180);
  const lost_kg = short.payload_kg - long.payload_kg;
  const lost_mps = losses_mps(long.ledger) - losses_mps(short.ledger);
  const worth = 1 / costOfAKilogram_mps(masses);
  const { payload_kg } = own;
  return {
    payload_kg,
    shareOfLiftoff: payload_kg / (own.compiled.plan.liftoffMass_kg + payload_kg),
    shareOfInsertion: payload_kg / entry(own.record, 'insertion').before.mass_kg,
    thrustToWeight: (group!.count * group!.thrustVacuum_N) / (masses.ignition_kg * G0_mps2),
    flightPathAngle_deg: ignition.flightPathAngle_deg,
    coasting_mps: G0_mps2 * (6378137 / (6378137 + ignition.height_m)) ** 2 * sine,
    payloadLoss_kgps: lost_kg / (TO_s - FROM_s),
    payloadLoss_percentps: (100 * lost_kg) / (TO_s - FROM_s) / payload_kg,
    velocityLoss_mpsps: lost_mps / (TO_s - FROM_s),
    worth_kgpmps: worth,
    worth_percentpmps: (100 * worth) / payload_kg,
    boosterKilogram_kg: (payload_kg - solved(heavier).payload_kg) / more_kg,
    firstOrder_kg: lost_mps * worth,
    solvedAgain_kg: lost_kg,
    masses,
  };
}

function massesOf({ study, record }: Solved): Masses {
  const exhaust = (body: string): number => {
    const speeds = Object.values(study.vehicle.bodies[body]!.engineGroups).map(
      (g) => g.ispVacuum_s * G0_mps2,
    );
    if (new Set(speeds).size !== 1)
      throw new Error(`${body} has engines of several kinds; the formula knows one`);
    return speeds[0]!;
  };
  return {
    liftoff_kg: entry(record, 'liftoff').before.mass_kg,
    meco_kg: entry(record, 'meco').before.mass_kg,
    ignition_kg: entry(record, 'ignition').after.mass_kg,
    insertion_kg: entry(record, 'insertion').before.mass_kg,
    boosterExhaust_mps: exhaust('booster'),
    upperExhaust_mps: exhaust('upper'),
  };
}

/** Ideal velocity that one kilogram of payload costs, to first order, m/s: c_u (1/m_f − 1/m_0u) + c_b (1/m_bf − 1/m_b0). */
function costOfAKilogram_mps(m: Masses): number {
  return (
    m.upperExhaust_mps * (1 / m.insertion_kg - 1 / m.ignition_kg) +
    m.boosterExhaust_mps * (1 / m.meco_kg - 1 / m.liftoff_kg)
  );
}

/** Sum of a ledger's losses, each a quadrature of its own, m/s. */
function losses_mps(ledger: Ledger): number {
  return (
    ledger.gravity_mps +
    ledger.drag_mps +
    ledger.backPressure_mps +
    ledger.steering_mps +
    ledger.centrifugal_mps
  );
}

/** The study with so many times the thrust (and nozzle) of its upper stage. */
export function withUpperThrust(study: Study, times: number): Study {
  const changed = structuredClone(study);
  for (const group of Object.values(changed.vehicle.bodies['upper']!.engineGroups)) {
    group.thrustVacuum_N *= times;
    group.exitArea_m2 *= times;
  }
  return changed;
}

/** The study with this much taken off its upper stage's dry mass (kg), and no reserve for its return. */
export function withLighterUpper(study: Study, less_kg: number): Study {
  const changed = structuredClone(study);
  const upper = changed.vehicle.bodies['upper']!;
  upper.dryMass_kg -= less_kg;
  upper.propellant!.returnReserve_kg = 0;
  return changed;
}
