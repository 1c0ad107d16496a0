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
import { checkReportedFlight, type ReportedFlight } from './reportedFlight.ts';
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
  readonly staging: PublishedStaging;
  readonly partings: PublishedPartings;
  readonly separations: readonly {
    readonly id: string;
    readonly title: string;
    readonly report: PublishedSeparation;
  }[];
  readonly settling: PublishedSettling;
}

export interface EvidenceCheck {
  readonly id: string;
  readonly title: string;
  /** Takes up to some seconds; SI inside, units in the rows. */
  readonly run: () => EvidenceOutcome;
}

/** The checks in the order in which they are reported, over the published numbers (units in their keys). */
export function listChecks(published: Published): EvidenceCheck[] {
  const { ascentStudy, ascent, atmosphere, geodesy, orbits } = published;
  const check = (id: string, title: string, run: () => EvidenceOutcome): EvidenceCheck => ({
    id,
    title,
    run,
  });
  return [
    ...published.reportedFlights.map(({ id, title, study, report }) =>
      check(id, title, () => checkReportedFlight(id, title, study, report)),
    ),
    check('r1-flights', 'flights of an invented vehicle', () => checkIndependentFlights(ascentStudy, ascent)),
    check('r1-payload', 'its payload and sweep', () => checkIndependentPayload(ascentStudy, ascent)),
    check('ascent-losses', 'losses of an ascent', () => checkLossBands(ascentStudy, published.losses)),
    check('gravity-turn', 'a gravity turn', () => checkGravityTurn(published.gravityTurn)),
    check('textbook', 'staging and thrust', () => checkTextbook(published.staging)),
    check('parting', 'two bodies that part', () => checkPartings(published.partings)),
    ...published.separations.map(({ id, title, report }) =>
      check(id, title, () => checkSeparation(id, title, report)),
    ),
    check('settling', 'propellant that holds or gives way', () => checkSettling(published.settling)),
    check('atmosphere-lower', 'atmosphere to 86 km', () => checkLowerAtmosphere(atmosphere)),
    check('atmosphere-upper', 'atmosphere to 1000 km', () => checkUpperAtmosphere(atmosphere)),
    check('normal-gravity', 'normal gravity', () => checkNormalGravity(geodesy)),
    check('geodesics', 'geodesics', () => checkGeodesics(geodesy)),
    check('orbital-elements', 'orbital elements', () => checkElements(orbits)),
    check('transfers', 'transfers', () => checkTransfers(orbits)),
    check('kepler', 'motion about a point mass', () => checkKepler(orbits)),
    check('integrated-orbits', 'orbits by integration', () => checkIntegratedOrbits(orbits)),
    check('arenstorf', 'the orbit of Arenstorf', () => checkArenstorf(published.arenstorf)),
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
