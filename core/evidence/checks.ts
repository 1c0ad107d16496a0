/** Every published check, once: what tests assert, the command prints and the window draws. */
import type { Study } from '../contract/study.ts';
import {
  checkGeodesics,
  checkLowerAtmosphere,
  checkNormalGravity,
  checkUpperAtmosphere,
  type PublishedAtmosphere,
  type PublishedGeodesy,
} from './earth.ts';
import { checkEntry, type PublishedEntry } from './entry.ts';
import { checkGravityTurn, type PublishedGravityTurn } from './gravityTurn.ts';
import {
  checkIndependentFlights,
  checkIndependentPayload,
  checkLossBands,
  type IndependentAscent,
  type PublishedLosses,
} from './independentAscent.ts';
import { checkArenstorf, checkIntegratedOrbits, type PublishedArenstorf } from './integration.ts';
import { checkElements, checkKepler, checkTransfers, type PublishedOrbits } from './orbits.ts';
import {
  checkPartings,
  checkSeparation,
  checkSettling,
  type PublishedPartings,
  type PublishedSeparation,
  type PublishedSettling,
} from './parting.ts';
import type { ReportedFlight } from './reported/report.ts';
import { checkReportedFlight } from './reported/reportedFlight.ts';
import type { EvidenceOutcome } from './rows.ts';
import { checkTextbook, type PublishedStaging } from './textbook.ts';

/** The published numbers, parsed and passed in: this folder reads no files. */
export interface Published {
  readonly reportedFlights: readonly {
    readonly id: string;
    readonly title: string;
    readonly study: Study;
    readonly report: ReportedFlight;
  }[];
  readonly ascentStudy: Study;
  readonly ascent: IndependentAscent;
  readonly losses: PublishedLosses;
  readonly atmosphere: PublishedAtmosphere;
  readonly geodesy: PublishedGeodesy;
  readonly orbits: PublishedOrbits;
  readonly arenstorf: PublishedArenstorf;
  readonly gravityTurn: PublishedGravityTurn;
  readonly entry: PublishedEntry;
  readonly staging: PublishedStaging;
  readonly partings: PublishedPartings;
  readonly separations: readonly {
    readonly id: string;
    readonly title: string;
    readonly report: PublishedSeparation;
  }[];
  readonly settling: PublishedSettling;
}

/** What a check is about, for finding it. */
export type Topic = 'flights' | 'staging' | 'air' | 'Earth' | 'orbits' | 'integration';

export interface EvidenceCheck {
  readonly id: string;
  readonly topic: Topic;
  readonly title: string;
  /** Takes up to some seconds; SI inside, units in the rows. */
  readonly run: () => EvidenceOutcome;
}

/** The checks in the order in which they are reported, over the published numbers (units in their keys). */
export function listChecks(published: Published): EvidenceCheck[] {
  const { ascentStudy, ascent, atmosphere, geodesy, orbits } = published;
  const check = (id: string, topic: Topic, title: string, run: () => EvidenceOutcome): EvidenceCheck => ({
    id,
    topic,
    title,
    run,
  });
  return [
    ...published.reportedFlights.map(({ id, title, study, report }) =>
      check(id, 'flights', title, () => checkReportedFlight(id, title, study, report)),
    ),
    check('r1-flights', 'flights', 'flights of an invented vehicle', () =>
      checkIndependentFlights(ascentStudy, ascent),
    ),
    check('r1-payload', 'flights', 'its payload and sweep', () =>
      checkIndependentPayload(ascentStudy, ascent),
    ),
    check('ascent-losses', 'flights', 'losses of an ascent', () =>
      checkLossBands(ascentStudy, published.losses),
    ),
    check('gravity-turn', 'flights', 'a gravity turn', () => checkGravityTurn(published.gravityTurn)),
    check('coming-down', 'flights', 'coming down', () => checkEntry(published.entry)),
    check('textbook', 'staging', 'staging and thrust', () => checkTextbook(published.staging)),
    check('parting', 'staging', 'two bodies that part', () => checkPartings(published.partings)),
    ...published.separations.map(({ id, title, report }) =>
      check(id, 'staging', title, () => checkSeparation(id, title, report)),
    ),
    check('settling', 'staging', 'propellant that holds or gives way', () =>
      checkSettling(published.settling),
    ),
    check('atmosphere-lower', 'air', 'atmosphere to 86 km', () => checkLowerAtmosphere(atmosphere)),
    check('atmosphere-upper', 'air', 'atmosphere to 1000 km', () => checkUpperAtmosphere(atmosphere)),
    check('normal-gravity', 'Earth', 'normal gravity', () => checkNormalGravity(geodesy)),
    check('geodesics', 'Earth', 'geodesics', () => checkGeodesics(geodesy)),
    check('orbital-elements', 'orbits', 'orbital elements', () => checkElements(orbits)),
    check('transfers', 'orbits', 'transfers', () => checkTransfers(orbits)),
    check('kepler', 'orbits', 'motion about a point mass', () => checkKepler(orbits)),
    check('integrated-orbits', 'integration', 'orbits by integration', () => checkIntegratedOrbits(orbits)),
    check('arenstorf', 'integration', 'the orbit of Arenstorf', () => checkArenstorf(published.arenstorf)),
  ];
}

/** What all checks together found; plain data. */
export interface EvidenceReport {
  readonly outcomes: readonly EvidenceOutcome[];
  readonly rows: number;
  readonly holds: number;
  readonly fails: number;
  /** Fitted to or given, and so not scored. */
  readonly unscored: number;
}

/** Counts the verdicts of outcomes. Unitless. */
export function evidenceReport(outcomes: readonly EvidenceOutcome[]): EvidenceReport {
  const all = outcomes.flatMap((outcome) => outcome.rows);
  const count = (verdict: string): number => all.filter((row) => row.verdict === verdict).length;
  return {
    outcomes,
    rows: all.length,
    holds: count('holds'),
    fails: count('fails'),
    unscored: count('fitted') + count('given'),
  };
}

/** Runs checks one by one, telling after each how many are done; what they found together. Units in the rows. */
export function* evidenceSteps(
  checks: readonly EvidenceCheck[],
): Generator<{ readonly done: number; readonly of: number }, EvidenceReport> {
  const outcomes: EvidenceOutcome[] = [];
  for (const check of checks) {
    outcomes.push(check.run());
    yield { done: outcomes.length, of: checks.length };
  }
  return evidenceReport(outcomes);
}
