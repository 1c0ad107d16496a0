/** The payload at which a flight with all its steering held has just the target's orbital energy. */
import { PAYLOAD, type CompiledStudy } from '../flight/compile.ts';
import { SOLVE_ACCURACY } from '../flight/accuracy.ts';
import { FlightEngine } from '../flight/engine.ts';
import { burnedPropellant_kg } from '../flight/timed.ts';
import type { PayloadOutcome } from './outcome.ts';
import { OrbitTarget } from './target.ts';

const MOST_STEPS = 60;
/** Energy met to this, as a speed, m/s: about a gram of payload. */
const CLOSE_mps = 1e-6;

/**
 * Closes the payload (kg) on orbital energy by a safeguarded secant, steering as in `values` (SI, radians), from a guess
 * in kg. The target's shape is not met. Not converged, with the reason, when no payload gives that energy.
 */
export function solveOnEnergy(
  compiled: CompiledStudy,
  values: Float64Array,
  guess_kg: number,
): PayloadOutcome {
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  const target = new OrbitTarget(compiled.study.target, compiled.earth);
  const flown = Float64Array.from(values);
  const { upper } = compiled.parameters[PAYLOAD]!;
  const miss = (payload: number): number => {
    flown[PAYLOAD] = payload;
    return engine.fly(flown) === 'flown' ? target.energyMiss_mps(engine.end) : Number.NaN;
  };
  // Energy falls as payload rises: too much energy below the answer, too little above.
  let low = 0;
  let high = upper;
  let payload = guess_kg;
  let here = miss(payload);
  let slope = Number.NaN;
  let steps = 0;
  for (; steps < MOST_STEPS && !(Math.abs(here) < CLOSE_mps); steps++) {
    if (here > 0) low = payload;
    else high = payload;
    let next = payload - here / slope;
    if (!(next > low && next < high)) {
      // A flight that fails says only that there is too much payload.
      const blind = Number.isNaN(slope) && !Number.isNaN(here);
      next = blind ? payload + Math.sign(here) * 0.01 * guess_kg : 0.5 * (low + high);
    }
    next = Math.min(Math.max(next, 0), upper);
    if (next === payload) break;
    const there = miss(next);
    if (!Number.isNaN(there) && !Number.isNaN(here)) slope = (there - here) / (next - payload);
    payload = next;
    here = there;
  }
  const converged = Math.abs(here) < CLOSE_mps;
  flown[PAYLOAD] = payload;
  return {
    status: converged ? 'converged' : 'notSolved',
    message: converged
      ? `Closed on orbital energy after ${steps} steps; the orbit's shape is not held to the target.`
      : 'No payload brings this steering to the orbital energy of the target; try the steering held on the booster alone.',
    payload_kg: converged ? payload : Number.NaN,
    values: flown,
    free: [PAYLOAD],
    finalMass_kg: converged ? engine.endMass_kg(flown) : Number.NaN,
    propellant_kg: converged ? burnedPropellant_kg(engine.endPlan) : Number.NaN,
    limits: [],
    multipliers_kg: new Float64Array(0),
    kktResidual: 0,
    feasibility: Math.abs(here) / 100,
    counts: {
      flights: engine.flights,
      reflights: engine.reflights,
      rightHandSides: engine.driver.stepper.evaluations,
      iterations: steps,
    },
    memory: null,
  };
}
