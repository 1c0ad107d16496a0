/** A study's flights as a film draws them: plain data and readers of recorded paths, worked out once before the first frame. */
import { CAUTION } from '../../../core/contract/caution.ts';
import { contentHash } from '../../../core/contract/contentHash.ts';
import type { Study } from '../../../core/contract/study.ts';
import type { CompiledStudy } from '../../../core/flight/compile.ts';
import type { TrackReader } from '../../../core/flight/track.ts';
import type { CloseUps } from '../../../core/replay/film/closeUps.ts';
import { filmStaging } from '../../../core/replay/film/staging.ts';
import type { FilmFacts } from '../../../core/replay/film/words.ts';
import { readTrack, type FlightData } from '../../../core/replay/flightData.ts';
import { sampleGlobePath, type GlobePath } from '../../../core/replay/globe.ts';
import { buildKnots, type Knot } from '../../../core/replay/knots.ts';
import type { SettlingTold } from '../../../core/replay/settlingTold.ts';
import { buildStrands, type BodyColour, type StrandSet } from '../../../core/replay/strands.ts';
import { gapEvent } from '../../../core/study/gap.ts';

export interface CurvePoint {
  readonly gap_s: number;
  readonly payload_kg: number;
}

/** One solved flight of a study. */
export interface SolvedFlight {
  readonly study: Study;
  readonly compiled: CompiledStudy;
  readonly flight: FlightData;
  readonly payload_kg: number;
  readonly settling: readonly SettlingTold[];
  /** Views of the parting; null where there are none. */
  readonly closeUps: CloseUps | null;
}

export interface FilmVariant {
  readonly readers: readonly TrackReader[];
  readonly set: StrandSet;
  readonly knots: readonly Knot[];
  readonly paths: readonly GlobePath[];
  /** Name and colour of each track: those of the body that pushes it. */
  readonly styles: readonly {
    readonly name: string;
    readonly colour: BodyColour;
    readonly end: 'orbit' | 'down' | 'open';
  }[];
  readonly payload_kg: number;
  /** How propellant lies before each ignition in flight. */
  readonly settling: readonly SettlingTold[];
  readonly closeUps: CloseUps | null;
  /** Command to command; null without a gap. */
  readonly gap: { readonly from_s: number; readonly to_s: number; readonly gap_s: number } | null;
  /** From a little before the first command of staging to well after the parting, s. */
  readonly staging: { readonly from_s: number; readonly to_s: number };
  /** Where the braid ends: with the last body that has engines, s. */
  readonly end_s: number;
}

export interface FilmScene {
  readonly title: string;
  readonly vehicle: string;
  readonly target_m: number;
  readonly main: FilmVariant;
  readonly compare: FilmVariant | null;
  /** Solved points of payload against the gap, all steering solved again; in order of gap. */
  readonly curve: readonly CurvePoint[];
  /** What the curve says, in a sentence or two; empty without one. */
  readonly answer: string;
  readonly assumptions: readonly string[];
  readonly caution: string;
  readonly hash: string;
  readonly facts: FilmFacts;
}

export interface SceneParts {
  readonly main: SolvedFlight;
  readonly compare: SolvedFlight | null;
  readonly curve: readonly CurvePoint[];
  readonly answer: string;
}

/** Puts a scene together; flights must have converged. */
export function makeScene({ main, compare, curve, answer }: SceneParts): FilmScene {
  const { study } = main;
  const first = makeVariant(main);
  const second = compare === null ? null : makeVariant(compare);
  const hash = contentHash(study);
  const orbit = main.flight.orbit;
  const notes = new Map(first.knots.filter((knot) => knot.note !== '').map((knot) => [knot.id, knot.note]));
  return {
    title: study.title,
    vehicle: study.vehicle.name,
    target_m: study.target.apogee_m,
    main: first,
    compare: second,
    curve,
    answer,
    assumptions: assumptionLines(study),
    caution: CAUTION,
    hash,
    facts: {
      log: main.flight.log,
      notes,
      payload_kg: main.payload_kg,
      gap_s: first.gap?.gap_s ?? Number.NaN,
      perigee_m: orbit?.perigeeHeight_m ?? Number.NaN,
      apogee_m: orbit?.apogeeHeight_m ?? Number.NaN,
      compare:
        second === null || compare === null
          ? null
          : { gap_s: second.gap?.gap_s ?? Number.NaN, payload_kg: compare.payload_kg },
      slope_kgps: slopeOf(curve),
    },
  };
}

/** Payload for a second of gap, over the part of the curve where something is waited for; NaN for too few points. */
function slopeOf(curve: readonly CurvePoint[]): number {
  const waiting = curve.filter((point) => point.gap_s >= 0);
  const first = waiting[0];
  const last = waiting.findLast((point) => point.gap_s <= 10) ?? waiting[waiting.length - 1];
  if (first === undefined || last === undefined || last.gap_s === first.gap_s) return Number.NaN;
  return (last.payload_kg - first.payload_kg) / (last.gap_s - first.gap_s);
}

/** A solved flight as what draws it: readers, strands, knots, paths over the globe, and the spans of its staging. Times in s. */
export function makeVariant({
  study,
  compiled,
  flight,
  payload_kg,
  settling,
  closeUps,
}: SolvedFlight): FilmVariant {
  const readers = flight.tracks.map((_, index) => readTrack(compiled, flight, index));
  const set = buildStrands(compiled, flight);
  const knots = buildKnots(compiled, flight, set);
  const gap = gapOfFlight(study, flight);
  return {
    readers,
    set,
    knots,
    paths: readers.map((reader, i) => sampleGlobePath(reader, i, 'earthFixed')),
    styles: readers.map((_, track) => {
      const strand =
        set.strands.find((s) => s.track === track && s.colour !== 'plain') ??
        set.strands.find((s) => s.track === track);
      return { name: strand?.name ?? '', colour: strand?.colour ?? 'plain', end: strand?.end ?? 'open' };
    }),
    payload_kg,
    settling,
    closeUps,
    gap,
    staging: stagingSpan(set, gap, filmStaging(study, flight.log)?.parting_s),
    end_s: braidEnd_s(set),
  };
}

function braidEnd_s(set: StrandSet): number {
  const own = set.strands.filter((strand) => strand.colour !== 'plain').map((strand) => strand.end_s);
  const end_s = own.length === 0 ? set.end_s : Math.max(...own);
  return end_s + 0.02 * (end_s - set.start_s);
}

function gapOfFlight(study: Study, flight: FlightData): FilmVariant['gap'] {
  const planned = flight.gaps[0];
  if (planned === undefined) return null;
  const ignition = flight.log.find((entry) => entry.id === gapEvent(study))?.time_s;
  if (ignition === undefined) return null;
  return { from_s: ignition - planned.command_s, to_s: ignition, gap_s: planned.command_s };
}

function stagingSpan(
  set: StrandSet,
  gap: FilmVariant['gap'],
  parting_s: number | undefined,
): { from_s: number; to_s: number } {
  const parting = parting_s ?? 0.5 * (set.start_s + set.end_s);
  const from = Math.min(parting, gap?.from_s ?? parting, gap?.to_s ?? parting);
  const to = Math.max(parting, gap?.from_s ?? parting, gap?.to_s ?? parting);
  const length = Math.max(12, 2 * (to - from));
  return {
    from_s: Math.max(set.start_s, from - 0.55 * length),
    to_s: Math.min(set.end_s, to + 0.45 * length),
  };
}

/** What the numbers rest on, in plain sentences. */
export function assumptionLines(study: Study): string[] {
  const { earth, target, vehicle, provenance } = study;
  const air = {
    us1976: 'U.S. Standard Atmosphere 1976',
    exponential: 'an exponential atmosphere',
    none: 'no air',
  };
  const figure = earth.figure === 'sphere' ? 'a turning sphere' : 'the turning WGS 84 ellipsoid';
  const gravity = earth.gravity === 'j2' ? 'gravity with J2' : 'central gravity';
  const wind = earth.wind === undefined ? 'no wind' : 'a wind profile';
  const km = (value_m: number): string => `${Math.round(value_m / 1000)}\u202Fkm`;
  const numbers = Object.keys(provenance).length;
  const spread = Object.values(provenance).filter((entry) => entry.spread !== undefined).length;
  return [
    `A point mass over ${figure}, ${gravity}, ${air[earth.atmosphere.kind]}, ${wind}.`,
    `Payload and steering are solved anew at each gap: to ${target.kind === 'apogee' ? `an apogee of ${km(target.apogee_m)}` : `${km(target.perigee_m)} by ${km(target.apogee_m)}`}, all reserves kept.`,
    `${vehicle.name}: ${numbers === 0 ? 'no number has' : `${numbers} numbers have`} a source in the study, ${spread === 0 ? 'none' : spread} a spread.`,
    'The payload has no error band here: it is exact for these numbers, not for a vehicle.',
  ];
}
