import { describe, expect, it } from 'vitest';
import { loadStudy } from '../../../core/contract/load.ts';
import type { Study } from '../../../core/contract/study.ts';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { SOLVE_ACCURACY } from '../../../core/flight/accuracy.ts';
import { FlightEngine } from '../../../core/flight/engine.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { compileReturn } from '../../../core/recovery/compile.ts';
import { reviewReturn } from '../../../core/recovery/review.ts';
import { startOfReturn } from '../../../core/recovery/start.ts';
import { compileWithReturn, withReserve } from '../../../core/solve/sequenceReturn.ts';
import { solveTogether, type TogetherOutcome } from '../../../core/solve/together.ts';
import { textOf } from '../../assets/demos.ts';
import { heavyWith } from '../recovery/studies.ts';

const PLAN = 'to-site';

/** The heavy demo with something changed in its document. */
function heavy(change: (study: Study) => void, plan: Parameters<typeof heavyWith>[1] = () => null): Study {
  const study = structuredClone(heavyWith(PLAN, plan).study);
  change(study);
  const result = loadStudy(JSON.stringify(study));
  if (!result.ok) throw new Error(result.problems.map(({ sentence }) => sentence).join('\n'));
  return result.study;
}

const eventOf = (study: Study, id: string): Study['sequence']['events'][number] =>
  study.sequence.events.find((event) => event.id === id)!;

/** Flies an answer up and home again, from its study with that reserve, and looks whether it lands. */
function landing(study: Study, id: string, outcome: TogetherOutcome) {
  const { body } = study.returns!.plans[id]!;
  const plain = compileStudy(withReserve(study, body, outcome.reserve_kg));
  const engine = new FlightEngine(plain, SOLVE_ACCURACY);
  const { values } = outcome.ascent;
  expect(engine.fly(values)).toBe('flown');
  const home = compileReturn(plain, id, engine.plan);
  const start = startOfReturn(engine, home.body, home.reserve_kg, values, plain.makeLaws())!;
  const review = reviewReturn(home, start, outcome.home!.values)!;
  // What a landing may miss by.
  expect(review.touchdownSpeed_mps).toBeLessThan(1);
  expect(review.miss_m).toBeLessThan(5);
  // Both fly the same way home; the review does so more finely.
  expect(Math.abs(review.used_kg - outcome.used_kg)).toBeLessThan(0.1);
  return { plain, engine, review, start };
}

function together(study: Study, id = PLAN): TogetherOutcome {
  const outcome = solveTogether(compileWithReturn(study, id), id);
  expect({ status: outcome.status, message: outcome.message }).toMatchObject({ status: 'converged' });
  return outcome;
}

describe('a body that is not cut on its reserves', () => {
  const KEPT_kg = 150_000;
  const RESIDUAL_kg = 6800;
  const onReserves = (): TogetherOutcome =>
    together(
      withReserve(
        heavy(
          () => undefined,
          (plan) => (plan.reserve = { kind: 'given' }),
        ),
        'booster',
        KEPT_kg,
      ),
    );

  it('returns with what is left over at the level at which it is cut', () => {
    const study = heavy(
      (own) => {
        eventOf(own, 'meco').trigger = {
          kind: 'propellant',
          body: 'booster',
          left: { mass_kg: KEPT_kg + RESIDUAL_kg },
        };
      },
      (plan) => (plan.reserve = { kind: 'taken', margin: 0 }),
    );
    const outcome = together(study);
    const same = onReserves();
    // Cut at the same level, so the same flight: both stop at the same tolerances, some grams.
    expect(Math.abs(outcome.payload_kg - same.payload_kg)).toBeLessThan(0.05);
    expect(outcome.used_kg).toBeLessThan(outcome.reserve_kg + 0.01);
    // What still burns off between the cut and the parting is part of it in neither.
    expect(outcome.reserve_kg).toBeGreaterThan(KEPT_kg - 1);
  }, 120_000);

  it('gives way until a margin is left over too, and returns from a cut at a time', () => {
    const first = onReserves();
    const plain = compileStudy(
      withReserve(
        heavy(() => undefined),
        'booster',
        first.reserve_kg,
      ),
    );
    const engine = new FlightEngine(plain, SOLVE_ACCURACY);
    engine.fly(first.ascent.values);
    const cut_s = recordFlight(plain, first.ascent.values).log.find(({ id }) => id === 'meco')!.time_s;
    const study = heavy(
      (own) => (eventOf(own, 'meco').trigger = { kind: 'time', time_s: cut_s }),
      (plan) => (plan.reserve = { kind: 'taken', margin: 0.01 }),
    );
    const outcome = together(study);
    // A lighter or heavier payload does not change what is left over at a time.
    expect(outcome.reserve_kg).toBeCloseTo(first.home!.start.reserve_kg, 1);
    expect(outcome.reserve_kg).toBeGreaterThan(1.01 * outcome.used_kg - 0.01);
    expect(outcome.payload_kg).toBeLessThan(first.payload_kg);
    landing(study, PLAN, outcome);
  }, 120_000);

  it('is told that too little is left over, where the ascent alone does not give way', () => {
    const study = heavy((own) => {
      eventOf(own, 'meco').trigger = { kind: 'propellant', body: 'booster', left: { mass_kg: 40_000 } };
    });
    const outcome = solveTogether(compileWithReturn(study, PLAN), PLAN);
    expect(outcome.status).toBe('notSolved');
    expect(outcome.payload_kg).toBeNaN();
  }, 120_000);
});

describe('a study with state triggers and limits, and a return', () => {
  it('is solved as one problem, and lands from its own ascent', () => {
    const study = heavy((own) => {
      eventOf(own, 'ease-main').trigger = { kind: 'dynamicPressure', pressure_Pa: 24_000, passing: 'rising' };
      eventOf(own, 'restore-main').trigger = {
        kind: 'altitude',
        height_m: 16_000,
        passing: 'rising',
      } as never;
      own.sequence.events.push({
        id: 'limit',
        name: 'acceleration limit',
        trigger: { kind: 'after', events: ['restore-main'], delay_s: 5 },
        action: {
          kind: 'hold',
          body: 'booster',
          limit: { kind: 'sensedAcceleration', acceleration_mps2: 26 },
        },
      } as never);
    });
    const outcome = together(study);
    const { plain } = landing(study, PLAN, outcome);
    expect(plain.waits).toBe(true);
    // Solved again from beside its answer: the same to the tolerance.
    const { memory } = outcome;
    const other = Float64Array.from(memory!.values, (value, i) => (i === 0 ? value - 50 : value));
    const again = solveTogether(compileWithReturn(study, PLAN), PLAN, {
      memory: { ...memory!, values: other },
    });
    expect(again.status).toBe('converged');
    expect(Math.abs(again.payload_kg - outcome.payload_kg)).toBeLessThan(0.05);
  }, 240_000);

  it('keeps limits of the ascent beside those of the return', () => {
    const study = heavy((own) => (own.limits = { dynamicPressure_Pa: 27_500 }));
    const outcome = together(study);
    const { plain, review } = landing(study, PLAN, outcome);
    for (const { value, limit } of review.peaks)
      if (!Number.isNaN(limit)) expect(value).toBeLessThan(limit * (1 + 1e-5));
    const track = recordFlight(plain, outcome.ascent.values);
    expect(track.status.code).toBe('flown');
    const free = together(heavy(() => undefined));
    expect(outcome.payload_kg).toBeLessThan(free.payload_kg);
    expect(outcome.ascent.limits.length).toBeGreaterThan(0);
    // A limit that binds nowhere changes nothing: the parting is followed beside it.
    const slack = together(heavy((own) => (own.limits = { dynamicPressure_Pa: 60_000 })));
    expect(Math.abs(slack.payload_kg - free.payload_kg)).toBeLessThan(0.05);
    expect(slack.counts.iterations).toBeLessThan(2 * free.counts.iterations);
  }, 240_000);
});

describe('any body that carries a return reserve', () => {
  /** The demo with strap-ons whose two boosters come down on engines of their own. */
  function strapOns(kept_kg: number): Study {
    const data = JSON.parse(textOf('triple')) as {
      provenance: object;
      returns: object;
      vehicle: {
        bodies: Record<
          string,
          { propellant: { usable_kg: number; returnReserve_kg: number }; engineGroups: object }
        >;
      };
    };
    data.provenance = {};
    for (const id of ['port', 'starboard']) {
      const own = data.vehicle.bodies[id]!;
      own.propellant.returnReserve_kg = kept_kg;
      own.propellant.usable_kg -= kept_kg;
      own.engineGroups = {
        ...own.engineGroups,
        landing: {
          name: 'Landing engine',
          count: 1,
          thrustVacuum_N: 120_000,
          ispVacuum_s: 290,
          exitArea_m2: 0.1,
          throttle: { least: 0.4, most: 1 },
          startUp: { delay_s: 0.2, ramp_s: 0.5 },
          shutDown: { delay_s: 0.1, ramp_s: 0.3 },
        },
      };
    }
    const plan = (body: string) => ({
      name: `Down on the sea, ${body}`,
      body,
      place: { kind: 'downrange' },
      turn: { wait_s: 1, pitchRate_degps: 10 },
      landing: { engines: [{ group: 'landing' }], margin: 0.05 },
      noseRadius_m: 0.8,
      limits: {},
      reserve: { kind: 'taken', margin: 0.05 },
    });
    data.returns = {
      chosen: ['port', 'starboard'],
      plans: { port: plan('port'), starboard: plan('starboard') },
    };
    const result = loadStudy(JSON.stringify(data));
    if (!result.ok) throw new Error(result.problems.map(({ sentence }) => sentence).join('\n'));
    return result.study;
  }

  it('can fly it: one strap-on of a pair, as its twin does, with the ascent', () => {
    const study = strapOns(1500);
    const port = together(study, 'port');
    landing(study, 'port', port);
    // A tail-off, a fall of a 4-tonne body, and a landing: a tenth of its mass at least by the rocket equation at 290 s.
    const { dry_kg } = compileStudy(study).bodies.find(({ id }) => id === 'port')!;
    expect(port.used_kg).toBeGreaterThan(0.05 * dry_kg);
    expect(port.reserve_kg).toBeCloseTo(1.05 * port.used_kg, 1);
    const starboard = together(study, 'starboard');
    // Mirror images but for the Earth's turning, which moves the point where they come down.
    expect(Math.abs(starboard.used_kg - port.used_kg)).toBeLessThan(5);
  }, 240_000);

  it('is cut at one time with its twin, whatever rounding makes of the two levels', () => {
    for (const kept_kg of [10, 200, 733, 1500]) {
      const compiled = compileStudy(strapOns(kept_kg));
      const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
      expect(engine.fly(startValues(compiled))).toBe('flown');
      const cut = ['port-burnout', 'starboard-burnout'].map((id) =>
        compiled.study.sequence.events.findIndex((event) => event.id === id),
      );
      const fired = engine.plan.segments.filter((segment) =>
        cut.some((event) => segment.fired.includes(event)),
      );
      expect(fired.length).toBe(1);
    }
  });
});
