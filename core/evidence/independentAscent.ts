/** An invented vehicle flown, optimised and swept by an independent implementation: its flights, payload, sweep, losses. */
import type { Study } from '../contract/study.ts';
import { compileStudy, startValues } from '../flight/compile.ts';
import { launchFrame } from '../flight/launch.ts';
import { recordFlight } from '../flight/record.ts';
import { TrackReader } from '../flight/track.ts';
import { solvePayload } from '../solve/payload.ts';
import { withGap } from '../study/gap.ts';
import { sweepGap } from '../study/sweep.ts';
import { outcome, Rows, type EvidenceOutcome } from './rows.ts';

interface Instant {
  readonly t_s: number;
  /** Inertial position (m), velocity (m/s), mass (kg). */
  readonly state: readonly number[];
}

export interface IndependentAscent {
  readonly source: string;
  readonly status: string;
  /** Gap (s), gravity and figure of each flight, and when in the study its three instants are. */
  readonly cases: readonly {
    readonly name: string;
    readonly gap_s: number;
    readonly earth: Pick<Study['earth'], 'gravity' | 'figure'>;
    readonly cutoff: string;
    readonly lights: string;
    readonly main_cutoff: Instant;
    readonly ignition: Instant;
    readonly burnout: Instant;
  }[];
  readonly gapEvent: string;
  readonly payload_kg: number;
  readonly sweep: { readonly gap_s: readonly number[]; readonly payload_kg: readonly number[] };
  /** kg of payload for one tonne more at a place. */
  readonly rates_kgpt: readonly {
    readonly name: string;
    readonly body: string;
    readonly of: 'dry' | 'reserve';
    readonly value: number;
  }[];
}

const TABLE =
  'the reference’s air above 86 km is log-linear between the rows of a table; it recommends this tolerance itself';

function distance(a: ArrayLike<number>, b: ArrayLike<number>, from: number): number {
  return Math.hypot(a[from]! - b[from]!, a[from + 1]! - b[from + 1]!, a[from + 2]! - b[from + 2]!);
}

/** Flights with fixed steering: where ours is at three instants of each, against the independent one; SI. */
export function checkIndependentFlights(study: Study, published: IndependentAscent): EvidenceOutcome {
  const rows = new Rows(published);
  for (const one of published.cases) {
    const own: Study = { ...study, earth: { ...study.earth, ...one.earth } };
    const compiled = compileStudy(withGap(own, published.gapEvent, one.gap_s));
    const record = recordFlight(compiled, startValues(compiled));
    const flown = record.status.code === 'flown';
    const time = (id: string): number =>
      compiled.plan.eventTimes_s[compiled.study.sequence.events.findIndex((event) => event.id === id)] ??
      Number.NaN;
    const look = flown
      ? new TrackReader(
          compiled,
          record.tracks[0]!,
          record.values,
          launchFrame(compiled.site, record.values[1]!),
        )
      : null;
    const instants = [
      ['main cut-off', one.main_cutoff, time(one.cutoff), true],
      ['ignition', one.ignition, time(one.lights), false],
      ['burnout', one.burnout, compiled.plan.insertion_s, true],
    ] as const;
    for (const [what, theirs, at_s, before] of instants) {
      const now = look?.at(at_s, before);
      const add = (
        quantity: string,
        unit: string,
        target: number,
        ours: number | undefined,
        tolerance: number,
        why: string,
      ): void =>
        rows.compare({
          quantity: `${quantity} at ${what}, ${one.name}`,
          unit,
          published: target,
          ours: ours ?? Number.NaN,
          tolerance,
          why,
        });
      add('distance from its place', 'm', 0, now && distance(now.state, theirs.state, 0), 10, TABLE);
      add('difference of velocity', 'm/s', 0, now && distance(now.state, theirs.state, 3), 0.05, TABLE);
      add('mass', 'kg', theirs.state[6]!, now?.mass_kg, 1e-2, 'the reference is integrated to 1e-2 kg');
    }
  }
  return outcome(
    'r1-flights',
    'R1: flights with fixed steering',
    'An invented two-stage vehicle flown by an independent implementation, with and without overlap, with J2.',
    rows.rows,
  );
}

/** The most payload (kg), what a tonne elsewhere costs of it, and the sweep of the gap. */
export function checkIndependentPayload(study: Study, published: IndependentAscent): EvidenceOutcome {
  const rows = new Rows(published);
  const cold = solvePayload(compileStudy(study));
  const { sweep } = published;
  rows.compare({
    quantity: 'most payload',
    unit: 'kg',
    published: published.payload_kg,
    ours: cold.payload_kg,
    tolerance: 10,
    why: TABLE,
  });
  if (cold.status === 'converged') {
    for (const { name, body, of, value } of published.rates_kgpt) {
      const changed = structuredCopy(study);
      const own = changed.vehicle.bodies[body]!;
      if (of === 'dry') own.dryMass_kg += 1000;
      else {
        // A reserve is taken out of the usable propellant: the tank does not grow.
        const tank = own.propellant!;
        tank.usable_kg -= 1000;
        if (own.role === 'booster') tank.returnReserve_kg += 1000;
        else tank.flightReserve_kg += 1000;
      }
      const moved = solvePayload(compileStudy(changed), { memory: cold.memory! });
      rows.compare({
        quantity: `payload for one tonne more: ${name}`,
        unit: 'kg',
        published: value,
        ours: moved.payload_kg - cold.payload_kg,
        tolerance: 0.1,
        why: 'four times the whole difference of the two models’ payloads',
      });
    }
  }
  const result = sweepGap(study, {
    gaps_s: [...sweep.gap_s],
    modes: ['reoptimised'],
    reference_s: sweep.gap_s[0]!,
  });
  sweep.gap_s.forEach((gap_s, i) => {
    const point = result.points.find((each) => each.gap_s === gap_s);
    rows.compare({
      quantity: `payload at a gap of ${gap_s} s, of that without a gap`,
      unit: '%',
      published: (100 * sweep.payload_kg[i]!) / sweep.payload_kg[0]!,
      ours: (100 * (point?.payload_kg ?? Number.NaN)) / sweep.payload_kg[0]!,
      tolerance: 0.05,
      why: TABLE,
    });
  });
  return outcome(
    'r1-payload',
    'R1: payload, exchange rates and gap sweep',
    'The same vehicle optimised elsewhere; our solve starts from no guess.',
    rows.rows,
  );
}

export interface PublishedLosses {
  readonly source: string;
  readonly status: string;
  readonly bands: {
    readonly gravity_mps: readonly number[];
    readonly drag_mps: readonly number[];
    readonly steering_mps: readonly number[];
  };
}

/** Losses of the solved ascent (m/s) against the range of those of real ascents. */
export function checkLossBands(study: Study, { bands, ...from }: PublishedLosses): EvidenceOutcome {
  const rows = new Rows(from);
  const compiled = compileStudy(study);
  const solved = solvePayload(compiled);
  const ledger = solved.status === 'converged' ? recordFlight(compiled, solved.values).ledger : null;
  const band = (range: readonly number[]): readonly [number, number] => [range[0]!, range[1]!];
  const unlike = 'no two vehicles are alike: a tenth of the upper end beyond either end';
  const light =
    'drag loss goes with area times coefficient over mass, which here is two thirds of that of the heaviest of the six: 20 m/s below';
  const add = (
    quantity: string,
    ours: number | undefined,
    range: readonly number[],
    tolerance: number,
    why: string,
  ): void => rows.range(quantity, 'm/s', ours ?? Number.NaN, band(range), tolerance, why);
  add('gravity loss', ledger?.gravity_mps, bands.gravity_mps, 0.1 * bands.gravity_mps[1]!, unlike);
  add('drag loss', ledger?.drag_mps, bands.drag_mps, 20, light);
  add('steering loss', ledger?.steering_mps, bands.steering_mps, 0.1 * bands.steering_mps[1]!, unlike);
  return outcome(
    'ascent-losses',
    'Losses of an ascent',
    'The ledger of the invented vehicle’s best ascent against six published vehicles’ range: a plausibility, not a proof.',
    rows.rows,
  );
}

/** A copy of a plain document, deep. */
function structuredCopy(study: Study): Study {
  return JSON.parse(JSON.stringify(study)) as Study;
}
