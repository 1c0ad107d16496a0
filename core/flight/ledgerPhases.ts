/** The ledger split: what each span between two events took and gave, and which body's engines burned in it. */
import type { CompiledStudy } from './compile.ts';
import type { Ledger } from './ledger.ts';
import { hasLedger } from './motion.ts';
import type { Segment } from './planTypes.ts';
import type { Track } from './track.ts';

/** The terms of a ledger that are quadratures, m/s; they stand in the state in this order, from component 6 on. */
const TERMS = [
  'ideal_mps',
  'gravity_mps',
  'drag_mps',
  'backPressure_mps',
  'steering_mps',
  'centrifugal_mps',
] as const;
type Terms = Pick<Ledger, (typeof TERMS)[number]>;

/** One span between events of the sequence during which the same bodies burn; mission times in s, terms in m/s. */
export interface LedgerPhase extends Terms {
  readonly start_s: number;
  readonly end_s: number;
  /** Ids of the events at its start; none where only the burning changes. */
  readonly events: readonly string[];
  /** Ids of the bodies whose engines burn, coming up and going down included; none on a coast. */
  readonly burning: readonly string[];
  /** What each of them has of the span's ideal velocity, m/s: by thrust over mass. */
  readonly idealOf_mps: Readonly<Record<string, number>>;
}

/** The ledger's terms (m/s) of all spans with the same bodies burning, by their ids joined by +, or `coast`. */
export type LedgerByBurning = Readonly<Record<string, Terms>>;

/**
 * Splits the ledger (m/s) of a recorded main track. The differences of one state, so they add up to the whole to rounding.
 * Throws RangeError when the track kept none.
 */
export function readLedgerPhases(compiled: CompiledStudy, track: Track): LedgerPhase[] {
  if (!hasLedger(track.steps.dimension))
    throw new RangeError(`readLedgerPhases: the track "${track.id}" was flown without a ledger`);
  const { events } = compiled.study.sequence;
  const phases: LedgerPhase[] = [];
  const before = new Float64Array(track.steps.dimension);
  const after = new Float64Array(track.steps.dimension);
  track.steps.sample(track.start_s, before);
  for (const segment of track.segments) {
    const end_s = Math.min(segment.end_s, track.end_s);
    if (!(end_s > segment.start_s)) continue;
    track.steps.sample(end_s, after);
    const terms = Object.fromEntries(
      TERMS.map((term, i) => [term, after[6 + i]! - before[6 + i]!]),
    ) as unknown as Terms;
    before.set(after);
    const shares = idealShares(segment, track.extra_kg, end_s - segment.start_s);
    const idealOf = Object.fromEntries(
      [...shares].map(([body, share]) => [compiled.bodies[body]!.id, share * terms.ideal_mps]),
    );
    const own: LedgerPhase = {
      start_s: segment.start_s,
      end_s,
      events: segment.fired.map((event) => events[event]!.id),
      burning: Object.keys(idealOf),
      idealOf_mps: idealOf,
      ...terms,
    };
    const last = phases.at(-1);
    const goesOn = own.events.length === 0 && last?.burning.join() === own.burning.join();
    if (last !== undefined && goesOn) phases[phases.length - 1] = joined(last, own);
    else phases.push(own);
  }
  return phases;
}

/** Adds up the phases (m/s) in which the same bodies burn, in order of their first coming. */
export function ledgerByBurning(phases: readonly LedgerPhase[]): LedgerByBurning {
  const sums: Record<string, Record<(typeof TERMS)[number], number>> = {};
  for (const phase of phases) {
    const name = phase.burning.length === 0 ? 'coast' : phase.burning.join('+');
    const sum = (sums[name] ??= { ...NOTHING });
    for (const term of TERMS) sum[term] += phase[term];
  }
  return sums;
}

const NOTHING: Terms = {
  ideal_mps: 0,
  gravity_mps: 0,
  drag_mps: 0,
  backPressure_mps: 0,
  steering_mps: 0,
  centrifugal_mps: 0,
};

function joined(first: LedgerPhase, second: LedgerPhase): LedgerPhase {
  const sums = Object.fromEntries(
    TERMS.map((term) => [term, first[term] + second[term]]),
  ) as unknown as Terms;
  const idealOf = Object.fromEntries(
    Object.entries(first.idealOf_mps).map(([id, part]) => [id, part + second.idealOf_mps[id]!]),
  );
  return { ...first, ...sums, end_s: second.end_s, idealOf_mps: idealOf };
}

/** Share of each burning body in ∫ T/m over a segment of so many seconds, by three points of Gauss and Legendre. */
function idealShares(segment: Segment, payload_kg: number, duration_s: number): Map<number, number> {
  const parts = new Map<number, number>();
  const nodes = [0.5 - Math.sqrt(0.15), 0.5, 0.5 + Math.sqrt(0.15)];
  const weights = [5 / 18, 8 / 18, 5 / 18];
  let whole = 0;
  for (const burn of segment.burns) {
    nodes.forEach((node, i) => {
      const tau = node * duration_s;
      const burned_kg = tau * (segment.flow_kgps + 0.5 * tau * segment.flowRate_kgps2);
      const mass_kg = segment.mass_kg + payload_kg - burned_kg;
      const part = (weights[i]! * (burn.thrust_N + tau * burn.thrustRate_Nps)) / mass_kg;
      whole += part;
      parts.set(burn.body, (parts.get(burn.body) ?? 0) + part);
    });
  }
  return new Map([...parts].map(([body, part]) => [body, whole > 0 ? part / whole : 0]));
}
