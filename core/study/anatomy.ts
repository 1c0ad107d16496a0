/** Why one answer carries less than another: the losses by which they differ, and each one's share of the kilograms. */
import type { CompiledStudy } from '../flight/compile.ts';
import type { Ledger } from '../flight/ledger.ts';
import { recordFlight } from '../flight/record.ts';
import { idealVelocity_mps } from '../solve/budget.ts';
import type { PayloadOutcome } from '../solve/payload.ts';

/** A solved study, to be compared. */
export interface SolvedPoint {
  readonly compiled: CompiledStudy;
  readonly outcome: PayloadOutcome;
}

export interface AnatomyPart {
  readonly name: string;
  /** By how much the second answer needs more ideal velocity for this reason, m/s. */
  readonly velocity_mps: number;
  /** Payload that it costs, kg, in proportion; negative is a cost. NaN where the parts cancel and no proportion is one. */
  readonly payload_kg: number;
  /** Its share of the change of payload, dimensionless; the shares add up to 1. */
  readonly share: number;
}

export interface Anatomy {
  /** Second less first, kg. */
  readonly payload_kg: number;
  /** Sum over the parts, m/s: what the change of payload pays for. */
  readonly velocity_mps: number;
  readonly parts: readonly AnatomyPart[];
  /** kg of payload for 1 m/s, from the two answers; NaN where the parts cancel. */
  readonly worth_kgpmps: number;
  /** Change of ideal velocity less that of losses and of the speed gained: the error of the ledgers, m/s. */
  readonly closure_mps: number;
}

const LOSSES = [
  ['gravity', (l: Ledger) => l.gravity_mps],
  ['steering', (l: Ledger) => l.steering_mps],
  ['drag', (l: Ledger) => l.drag_mps],
  ['back-pressure', (l: Ledger) => l.backPressure_mps],
  ['centrifugal', (l: Ledger) => l.centrifugal_mps],
  ['turning Earth', (l: Ledger) => -l.relativeToInertial_mps],
] as const;
/** The parts must not cancel to less than this share of what they add up to in size. */
const LEAST_SUM = 0.02;

/**
 * Takes the difference of two answers apart. With the target met by both, Δ(ideal velocity) = ΣΔ(losses) + Δ(speed gained)
 * exactly, each from its own quadrature; what the vehicle itself gains in ideal velocity at the same payload (an engine, a
 * mass) counts against the losses as a part of its own; the kilograms go in proportion. Null where a flight has no ledger.
 */
export function anatomyOf(first: SolvedPoint, second: SolvedPoint): Anatomy | null {
  const [a, b] = [first, second].map(
    ({ compiled, outcome }) => recordFlight(compiled, outcome.values).ledger,
  );
  if (a == null || b == null) return null;
  const payload_kg = second.outcome.payload_kg - first.outcome.payload_kg;
  const ideal = ({ compiled }: SolvedPoint): number => {
    const { segments } = compiled.plan;
    return idealVelocity_mps(
      segments,
      segments.findIndex((segment) => !segment.held),
      first.outcome.payload_kg,
    );
  };
  const changes = [
    ...LOSSES.map(([name, of]) => ({ name, velocity_mps: of(b) - of(a) })),
    { name: 'the vehicle itself', velocity_mps: ideal(first) - ideal(second) },
    // The target's own speed, where it is another one.
    {
      name: 'target speed',
      velocity_mps:
        b.speedGained_mps + b.relativeToInertial_mps - a.speedGained_mps - a.relativeToInertial_mps,
    },
  ];
  const velocity_mps = changes.reduce((sum, each) => sum + each.velocity_mps, 0);
  const size = changes.reduce((sum, each) => sum + Math.abs(each.velocity_mps), 0);
  const sound = Math.abs(velocity_mps) > LEAST_SUM * size;
  const lossChange = changes
    .filter((each) => each.name !== 'the vehicle itself')
    .reduce((sum, each) => sum + each.velocity_mps, 0);
  return {
    payload_kg,
    velocity_mps,
    parts: changes.map(({ name, velocity_mps: part }) => {
      const share = sound ? part / velocity_mps : Number.NaN;
      return { name, velocity_mps: part, share, payload_kg: share * payload_kg };
    }),
    worth_kgpmps: sound ? -payload_kg / velocity_mps : Number.NaN,
    closure_mps: b.ideal_mps - a.ideal_mps - lossChange,
  };
}
