/**
 * The published numbers as one object, for the tests, the command and the window's report. Real vehicles, sites and flights
 * are named here and in what is drawn from it, as cited data, and nowhere else.
 */
import { validateStudy } from '../../core/contract/load.ts';
import type { Study } from '../../core/contract/study.ts';
import type { Published } from '../../core/evidence/checks.ts';
import as506 from './as506/reference.json' with { type: 'json' };
import as506Study from './as506/as506.plumeline.json' with { type: 'json' };
import atmosphere from './earth/atmosphere-us1976.json' with { type: 'json' };
import geodesy from './earth/geodesy.json' with { type: 'json' };
import orbits from './earth/orbits.json' with { type: 'json' };
import losses from './flight/ascent-losses.json' with { type: 'json' };
import gravityTurn from './flight/gravity-turn.json' with { type: 'json' };
import arenstorf from './ode/arenstorf.json' with { type: 'json' };
import separation from './parting/as506.json' with { type: 'json' };
import partings from './parting/closed-forms.json' with { type: 'json' };
import settling from './parting/settling.json' with { type: 'json' };
import r1Study from './r1/r1.plumeline.json' with { type: 'json' };
import r1 from './r1/reference.json' with { type: 'json' };
import staging from './textbook/staging.json' with { type: 'json' };

function accepted(document: unknown): Study {
  const result = validateStudy(document);
  if (!result.ok) throw new Error(result.problems.map((problem) => problem.sentence).join('\n'));
  return result.study;
}

const CENTRAL = { gravity: 'central', figure: 'sphere' } as const;
const OBLATE = { gravity: 'j2', figure: 'ellipsoid' } as const;
const PLAIN = { cutoff: 'meco', lights: 'ignition' };
/** In an overlap the file's `ignition` is the state at parting. */
const OVERLAPPED = { cutoff: 'partial-cutoff', lights: 'separation' };
const R1_CASES = [
  { name: 'central gravity, gap 0 s', gap_s: 0, earth: CENTRAL, ...PLAIN },
  { name: 'central gravity, gap 5 s', gap_s: 5, earth: CENTRAL, ...PLAIN },
  { name: 'central gravity, overlap 2 s (gap -2 s)', gap_s: -2, earth: CENTRAL, ...OVERLAPPED },
  { name: 'J2 and ellipsoid, gap 0 s', gap_s: 0, earth: OBLATE, ...PLAIN },
] as const;
const RATES = [
  { name: 'booster dry +1 t', body: 'booster', of: 'dry' },
  { name: 'upper dry +1 t', body: 'upper', of: 'dry' },
  { name: 'booster reserve +1 t', body: 'booster', of: 'reserve' },
  { name: 'upper reserve +1 t', body: 'upper', of: 'reserve' },
] as const;

export const published: Published = {
  reportedFlights: [
    { id: 'as506', title: 'The ascent of AS-506', study: accepted(as506Study), report: as506 },
  ],
  ascentStudy: accepted(r1Study),
  ascent: {
    source:
      'R1: computed with SciPy’s general-purpose integrator and optimiser from the statement in the file',
    status: 'computed',
    cases: R1_CASES.map((each) => ({ ...each, ...r1.flights[each.name] })),
    gapEvent: 'ignition',
    payload_kg: r1.optimum_gap0.payload_kg,
    sweep: r1.gap_sweep,
    rates_kgpt: RATES.map((each) => ({ ...each, value: r1.exchange_rates_kg_per_t[each.name] })),
  },
  losses,
  atmosphere,
  geodesy,
  orbits,
  arenstorf,
  gravityTurn,
  staging,
  partings,
  separations: [{ id: 'as506-separation', title: 'The first separation of AS-506', report: separation }],
  settling,
};
