/** The start of a flight home as a smooth function of the ascent's numbers: read while its steps are flown again. */
import type { FlightEngine } from '../flight/engine.ts';
import type { Branch, FlightPlan, Segment } from '../flight/planTypes.ts';
import { otherSide } from '../flight/spin.ts';
import type { SpinKick } from '../flight/spinTypes.ts';
import type { SteeringLaw } from '../flight/steering/law.ts';
import type { StepObserver } from '../ode/replay.ts';
import { partingPlace, startAt, type PartingPlace, type ReturnStart } from './start.ts';

/** Reads starts off one engine, whose observer it is meanwhile beside whoever else looks. SI. */
export class HeldStart implements StepObserver {
  /** Null until a flight has come to the parting. */
  place: PartingPlace | null = null;
  private readonly laws: (SteeringLaw | null)[];
  private readonly parting: Float64Array;
  private readonly law: Float64Array;
  private next: StepObserver | null = null;

  /** For the body of this index. */
  constructor(
    private readonly engine: FlightEngine,
    private readonly body: number,
  ) {
    this.laws = engine.compiled.makeLaws();
    this.parting = new Float64Array(engine.end.length);
    this.law = new Float64Array(engine.end.length);
  }

  /** Takes up the engine's last controlled flight; its start with so much kept (kg), null when it did not part. SI, radians */
  flown(reserve_kg: number, values: Float64Array): ReturnStart | null {
    const { engine } = this;
    this.place = partingPlace(engine.plan, this.body);
    if (this.place === null) return null;
    this.reset();
    return this.read(engine.plan, reserve_kg, values);
  }

  /** Before a flight over held steps: what it does not come past stays as it was. Unitless. */
  begin(): void {
    this.reset();
    // A flight that failed before was never ended.
    if (this.engine.observer === this) return;
    this.next = this.engine.observer;
    this.engine.observer = this;
  }

  /** Keeps the states that are asked for; see `StepObserver`. SI. */
  taken(step: number, t: number, h: number, y: Float64Array): void {
    const { segmentSteps } = this.engine;
    const { segment, law } = this.place!;
    if (step === segmentSteps[segment]) this.parting.set(this.engine.stateBeforeJump(segment, true) ?? y);
    if (step === segmentSteps[law]) this.law.set(y);
    this.next?.taken(step, t, h, y);
  }

  /** The start in the flight over held steps that has just been flown, with so much kept (kg). SI, radians */
  ended(reserve_kg: number, values: Float64Array): ReturnStart {
    const { engine } = this;
    engine.observer = this.next;
    this.next = null;
    return this.read(engine.endPlan, reserve_kg, values);
  }

  private reset(): void {
    const { engine } = this;
    const { segment, law } = this.place!;
    if (!this.atEnd) this.parting.set(engine.stateBeforeJump(segment) ?? engine.stateAt(segment));
    if (law >= 0) this.law.set(engine.stateAt(law));
  }

  private get atEnd(): boolean {
    return this.place!.segment >= this.engine.plan.segments.length;
  }

  private read(plan: FlightPlan, reserve_kg: number, values: Float64Array): ReturnStart {
    const { engine, laws, law } = this;
    const { compiled } = engine;
    const state = this.atEnd ? engine.end : this.parting;
    const own = this.placeIn(plan);
    return startAt(compiled, plan, own, state, own.law < 0 ? state : law, reserve_kg, values, laws);
  }

  /** The place in a plan beside the flown one; where that has not followed its pieces, what burned meanwhile tells the mass. */
  private placeIn(plan: FlightPlan): PartingPlace {
    const { engine, body } = this;
    const flown = this.place!;
    const own = partingPlace(plan, body);
    if (own !== null) return own;
    const { branch, segment } = flown;
    const at = (of: FlightPlan): { start_s: number; left_kg: number } => {
      const next = of.segments[segment];
      if (next !== undefined) return { start_s: next.start_s, left_kg: next.propellant_kg[body]! };
      return { start_s: of.insertion_s, left_kg: branch.segments[0]!.propellant_kg[body]! };
    };
    const before = at(engine.plan);
    const now = at(plan);
    const later_s = now.start_s - before.start_s;
    const more_kg = now.left_kg - before.left_kg;
    const kicks = kicksOf(branch, plan.segments[segment]);
    const segments = branch.segments.map((each, i) => ({
      ...each,
      start_s: each.start_s + later_s,
      end_s: each.end_s + later_s,
      mass_kg: each.mass_kg + more_kg,
      ...(i > 0 || kicks === undefined ? {} : { kicks }),
    }));
    return { ...flown, branch: { ...branch, segments } };
  }
}

/** What a plan's own segment at the parting gives the piece that parts there: the same releases, the last from its other side. */
function kicksOf({ segments }: Branch, at: Segment | undefined): readonly SpinKick[] | undefined {
  const count = segments[0]?.kicks?.length ?? 0;
  const own = at?.kicks;
  if (count === 0 || own === undefined) return undefined;
  return own.slice(0, count).map((kick, i) => (i + 1 === count ? otherSide(kick) : kick));
}
