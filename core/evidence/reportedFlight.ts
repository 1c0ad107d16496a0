/**
 * A flight that was flown and reported, flown again: a study made from the report's masses, thrusts and times, its steering
 * fitted to the reported insertion alone, and every other reported event scored. What nobody published, the drag table, is
 * flown at a low, a middle and a high level, each fitted anew.
 */
import type { Study } from '../contract/study.ts';
import { EARTH_EQUATORIAL_RADIUS_m, EARTH_GM_m3ps2 } from '../constants/physical.ts';
import { orbitalPeriod_s } from '../earth/orbit.ts';
import { compileStudy, startValues, type CompiledStudy } from '../flight/compile.ts';
import { launchFrame } from '../flight/launch.ts';
import { recordFlight, type FlightRecord } from '../flight/record.ts';
import { spaceFixed, type SpaceFixed } from '../flight/space.ts';
import { TrackReader, type Observation } from '../flight/track.ts';
import { fitInsertion, type InsertionFit } from '../solve/insertionFit.ts';
import type { ChartPoint, TimeChart } from '../replay/timeChart.ts';
import { Rows, type EvidenceOutcome, type FittedNumber } from './rows.ts';

interface Within {
  readonly within: readonly number[];
  readonly why: string;
}

type StateQuantity = 'height_m' | 'range_m' | 'speed_mps' | 'flightPathAngle_deg' | 'heading_deg';

interface ReportedState {
  readonly name: string;
  readonly event: string;
  readonly stage: string;
  readonly source: string;
  readonly time_s: number;
  readonly height_m: number;
  readonly range_m?: number;
  readonly speed_mps: number;
  readonly flightPathAngle_deg: number;
  readonly heading_deg: number;
  readonly explained: Readonly<Partial<Record<string, string>>>;
}

export interface ReportedFlight {
  readonly source: string;
  readonly status: string;
  readonly fit: { readonly paths: readonly string[] };
  readonly insertion: {
    readonly source: string;
    readonly time_s: number;
    readonly height_m: number;
    readonly speed_mps: number;
    readonly flightPathAngle_deg: number;
    readonly heading_deg: number;
    readonly latitude_deg: number;
    readonly longitude_deg: number;
    readonly inclination_deg: number;
    readonly eccentricity: number;
    readonly apogee_m: number;
    readonly perigee_m: number;
    readonly period_s: number;
    /** The sphere that apogee and perigee are counted from. */
    readonly sphere_m: number;
    readonly within: Readonly<
      Record<
        | 'time_s'
        | 'speed_mps'
        | 'latitude_deg'
        | 'longitude_deg'
        | 'inclination_deg'
        | 'eccentricity'
        | 'apogee_m'
        | 'perigee_m'
        | 'period_s',
        Within
      >
    >;
  };
  readonly states: readonly ReportedState[];
  /** By stage; `speed_share` is of the published speed. What has none was given to the flight. */
  readonly tolerances: Readonly<
    Record<
      string,
      Readonly<Record<'height_m' | 'range_m' | 'flightPathAngle_deg' | 'heading_deg', Within>> & {
        readonly time_s?: Within;
        readonly speed_share?: Within;
      }
    >
  >;
  readonly masses: readonly {
    readonly name: string;
    readonly event?: string;
    readonly time_s?: number;
    readonly side: string;
    readonly mass_kg: number;
    readonly within_kg: number;
    readonly why: string;
    readonly explained?: string;
  }[];
  readonly maxDynamicPressure: {
    readonly source: string;
    readonly time_s: number;
    readonly height_m: number;
    readonly pressure_Pa: number;
    readonly withinTime_s: Within;
    readonly withinHeight_m: Within;
    readonly withinPressure_share: Within;
    readonly explained: string;
  };
  readonly mach1: {
    readonly source: string;
    readonly time_s: number;
    readonly height_m: number;
    readonly withinTime_s: Within;
    readonly withinHeight_m: Within;
    readonly explained: string;
  };
  readonly accelerationSource: string;
  readonly accelerationWithin: { readonly share: Within; readonly time_s: Within };
  readonly accelerations: readonly {
    readonly name: string;
    readonly from: string;
    readonly to: string;
    readonly time_s: number;
    readonly acceleration_mps2: number;
    readonly explained?: string;
  }[];
  readonly groundSpeedSource: string;
  readonly groundSpeeds: readonly {
    readonly name: string;
    readonly from: string;
    readonly to: string;
    readonly speed_mps: number;
    readonly share: number;
    readonly why: string;
  }[];
  /** Drag coefficients at the Mach numbers of the study's table, for its first so many arrangements. */
  readonly drag: {
    readonly status: string;
    readonly arrangements: number;
    readonly low: readonly number[];
    readonly mid: readonly number[];
    readonly high: readonly number[];
  };
  /** What another source says of ascents of the type, m/s. */
  readonly velocities: {
    readonly source: string;
    readonly status: string;
    readonly ideal_mps: number;
    readonly drag_mps: number;
    readonly within: Readonly<Record<'ideal_mps' | 'drag_mps', Within>>;
  };
  /**
   * Wind of the day where it was told: at the ground and at its peak, m/s, coming from an azimuth (degrees); the air is still
   * from `calm_m` up. Flown beside the others to say what it would change.
   */
  readonly wind?: {
    readonly source: string;
    readonly status: string;
    readonly from_deg: number;
    readonly surface_mps: number;
    readonly surfaceHeight_m: number;
    readonly peak_mps: number;
    readonly peakHeight_m: number;
    readonly calm_m: number;
  };
  readonly notes: readonly string[];
}

type Level = 'low' | 'mid' | 'high';
/** Points of a chart's curve. */
const SAMPLES = 240;
const DEG = 180 / Math.PI;

/** A flight at one drag level, with what rows ask of it. */
class Reflown {
  readonly compiled: CompiledStudy;
  readonly fit: InsertionFit;
  readonly record: FlightRecord;
  private readonly reader: TrackReader;

  constructor(
    study: Study,
    published: ReportedFlight,
    level: Level,
    start: Float64Array | null,
    wind?: Study['earth']['wind'],
  ) {
    const { drag, fit, insertion } = published;
    const aerodynamics = study.vehicle.aerodynamics.map((own, i) =>
      i < drag.arrangements
        ? { ...own, dragCoefficient: { ...own.dragCoefficient, value: [...drag[level]] } }
        : own,
    );
    const earth = wind === undefined ? study.earth : { ...study.earth, wind };
    this.compiled = compileStudy({ ...study, earth, vehicle: { ...study.vehicle, aerodynamics } });
    this.fit = fitInsertion(this.compiled, fit.paths, insertion, start ?? startValues(this.compiled));
    this.record = recordFlight(this.compiled, this.fit.values);
    const launch = launchFrame(this.compiled.site, this.fit.values[1]!);
    this.reader = new TrackReader(this.compiled, this.record.tracks[0]!, this.fit.values, launch);
  }

  get usable(): boolean {
    return this.fit.status === 'fitted' && this.record.status.code === 'flown';
  }

  time_s(event: string): number {
    const found = this.record.log.find((entry) => entry.id === event && entry.track === 'main');
    return found?.time_s ?? Number.NaN;
  }

  at(time_s: number, before = false): Observation {
    return this.reader.at(time_s, before);
  }

  state(time_s: number): SpaceFixed {
    return spaceFixed(this.at(time_s).state, time_s, this.compiled.study.site);
  }

  /** Greatest value between two events, and when; looked for at both ends of every step. */
  greatest(from: string, to: string, value: (now: Observation) => number): { value: number; time_s: number } {
    const { steps } = this.record.tracks[0]!;
    const [start_s, end_s] = [this.time_s(from), this.time_s(to)];
    let best = { value: -Infinity, time_s: Number.NaN };
    const look = (time_s: number, before: boolean): void => {
      if (time_s < start_s || time_s > end_s || (time_s === end_s && !before)) return;
      const here = value(this.at(time_s, before));
      if (here > best.value) best = { value: here, time_s };
    };
    for (let i = 0; i < steps.count; i++) {
      look(steps.timeOf(i), false);
      look(steps.timeOf(i) + steps.lengthOf(i), true);
    }
    return best;
  }
}

/**
 * Fits and flies the study at three drag levels and scores the middle one; SI and degrees. When a fit fails its rows say so
 * by failing.
 */
export function checkReportedFlight(
  id: string,
  title: string,
  study: Study,
  published: ReportedFlight,
): EvidenceOutcome {
  const mid = new Reflown(study, published, 'mid', null);
  const flights = [
    mid,
    new Reflown(study, published, 'low', mid.fit.values),
    new Reflown(study, published, 'high', mid.fit.values),
  ] as const;
  const rows = new Rows(published);
  const add = (
    quantity: string,
    unit: string,
    theirs: number,
    read: (flight: Reflown) => number,
    { within, why }: Within,
    source: string,
    explained?: string,
    status?: string,
  ): void => {
    const [ours = Number.NaN, low = Number.NaN, high = Number.NaN] = flights.map((flight) =>
      flight.usable ? read(flight) : Number.NaN,
    );
    const tolerance = [within[0]!, within[1]!] as const;
    rows.compare({
      quantity,
      unit,
      published: theirs,
      ours,
      tolerance,
      why,
      source,
      status,
      explained,
      band: [low, high],
    });
  };
  const share = (of: number, { within, why }: Within): Within => ({
    within: within.map((each) => each * Math.abs(of)),
    why,
  });

  for (const state of published.states) {
    const own = published.tolerances[state.stage]!;
    const at = (flight: Reflown): SpaceFixed => flight.state(flight.time_s(state.event));
    const say = (
      quantity: string,
      unit: string,
      key: StateQuantity | 'time_s',
      within: Within | undefined,
    ): void => {
      const theirs = state[key];
      if (theirs === undefined) return;
      const name = `${quantity}, ${state.name}`;
      const read = (flight: Reflown): number =>
        key === 'time_s' ? flight.time_s(state.event) : at(flight)[key];
      if (within !== undefined) add(name, unit, theirs, read, within, state.source, state.explained[key]);
      else if (mid.usable) rows.show(name, unit, theirs, read(mid), 'given', state.source);
    };
    say('time', 's', 'time_s', own.time_s);
    say('height', 'm', 'height_m', own.height_m);
    say('range', 'm', 'range_m', own.range_m);
    say('space-fixed speed', 'm/s', 'speed_mps', own.speed_share && share(state.speed_mps, own.speed_share));
    say('flight-path angle', '°', 'flightPathAngle_deg', own.flightPathAngle_deg);
    say('heading', '°', 'heading_deg', own.heading_deg);
  }

  const { insertion } = published;
  const end = (flight: Reflown): SpaceFixed => flight.state(flight.record.plan.insertion_s);
  if (mid.usable) {
    const there = end(mid);
    rows.show('height, insertion', 'm', insertion.height_m, there.height_m, 'fitted', insertion.source);
    rows.show(
      'flight-path angle, insertion',
      '°',
      insertion.flightPathAngle_deg,
      there.flightPathAngle_deg,
      'fitted',
      insertion.source,
    );
    rows.show(
      'heading, insertion',
      '°',
      insertion.heading_deg,
      there.heading_deg,
      'fitted',
      insertion.source,
    );
  }
  const { within } = insertion;
  const orbit = (flight: Reflown): NonNullable<FlightRecord['orbit']> => flight.record.orbit!;
  const overSphere = EARTH_EQUATORIAL_RADIUS_m - insertion.sphere_m;
  const last = (
    quantity: string,
    unit: string,
    theirs: number,
    read: (flight: Reflown) => number,
    w: Within,
  ): void => add(`${quantity}, insertion`, unit, theirs, read, w, insertion.source);
  last('time', 's', insertion.time_s, (flight) => flight.record.plan.insertion_s, within.time_s);
  last('space-fixed speed', 'm/s', insertion.speed_mps, (flight) => end(flight).speed_mps, within.speed_mps);
  last('latitude', '°', insertion.latitude_deg, (flight) => end(flight).latitude_deg, within.latitude_deg);
  last(
    'longitude',
    '°',
    insertion.longitude_deg,
    (flight) => end(flight).longitude_deg,
    within.longitude_deg,
  );
  last(
    'inclination',
    '°',
    insertion.inclination_deg,
    (flight) => orbit(flight).inclination_rad * DEG,
    within.inclination_deg,
  );
  last(
    'eccentricity',
    '',
    insertion.eccentricity,
    (flight) => orbit(flight).eccentricity,
    within.eccentricity,
  );
  last(
    'apogee height',
    'm',
    insertion.apogee_m,
    (flight) => orbit(flight).apogeeHeight_m + overSphere,
    within.apogee_m,
  );
  last(
    'perigee height',
    'm',
    insertion.perigee_m,
    (flight) => orbit(flight).perigeeHeight_m + overSphere,
    within.perigee_m,
  );
  last(
    'period',
    's',
    insertion.period_s,
    (flight) => orbitalPeriod_s(orbit(flight).semiMajorAxis_m, EARTH_GM_m3ps2),
    within.period_s,
  );

  for (const each of published.masses) {
    const read = (flight: Reflown): number =>
      flight.at(each.time_s ?? flight.time_s(each.event!), each.side === 'before').mass_kg;
    const band = { within: [-each.within_kg, each.within_kg], why: each.why };
    add(`mass, ${each.name}`, 'kg', each.mass_kg, read, band, published.source, each.explained);
  }

  const q = published.maxDynamicPressure;
  const logged = (flight: Reflown, event: string) => flight.record.log.find((entry) => entry.id === event)!;
  add(
    'greatest dynamic pressure',
    'Pa',
    q.pressure_Pa,
    (flight) => logged(flight, 'max-q').dynamicPressure_Pa,
    share(q.pressure_Pa, q.withinPressure_share),
    q.source,
    q.explained,
  );
  add(
    'time of the greatest dynamic pressure',
    's',
    q.time_s,
    (flight) => logged(flight, 'max-q').time_s,
    q.withinTime_s,
    q.source,
    q.explained,
  );
  add(
    'height of the greatest dynamic pressure',
    'm',
    q.height_m,
    (flight) => logged(flight, 'max-q').height_m,
    q.withinHeight_m,
    q.source,
    q.explained,
  );
  const { mach1 } = published;
  add(
    'time of Mach 1',
    's',
    mach1.time_s,
    (flight) => logged(flight, 'mach-1').time_s,
    mach1.withinTime_s,
    mach1.source,
    mach1.explained,
  );
  add(
    'height of Mach 1',
    'm',
    mach1.height_m,
    (flight) => logged(flight, 'mach-1').height_m,
    mach1.withinHeight_m,
    mach1.source,
    mach1.explained,
  );
  for (const peak of published.accelerations) {
    const most = (flight: Reflown) => flight.greatest(peak.from, peak.to, (now) => now.sensed_mps2);
    const tolerance = share(peak.acceleration_mps2, published.accelerationWithin.share);
    add(
      `greatest sensed acceleration, ${peak.name}`,
      'm/s²',
      peak.acceleration_mps2,
      (flight) => most(flight).value,
      tolerance,
      published.accelerationSource,
      peak.explained,
    );
  }
  for (const peak of published.groundSpeeds) {
    const most = (flight: Reflown) => flight.greatest(peak.from, peak.to, (now) => now.speedRelative_mps);
    const tolerance = share(peak.speed_mps, { within: [-peak.share, peak.share], why: peak.why });
    add(
      `greatest Earth-fixed speed, ${peak.name}`,
      'm/s',
      peak.speed_mps,
      (flight) => most(flight).value,
      tolerance,
      published.groundSpeedSource,
    );
  }
  const { velocities } = published;
  add(
    'ideal velocity of the ascent',
    'm/s',
    velocities.ideal_mps,
    (flight) => flight.record.ledger!.ideal_mps,
    velocities.within.ideal_mps,
    velocities.source,
    undefined,
    velocities.status,
  );
  add(
    'drag loss',
    'm/s',
    velocities.drag_mps,
    (flight) => flight.record.ledger!.drag_mps,
    velocities.within.drag_mps,
    velocities.source,
    undefined,
    velocities.status,
  );

  return {
    id,
    title,
    about: `Reflown from the flight evaluation report, ${published.fit.paths.length} steering numbers fitted to its insertion alone. ${mid.fit.message}`,
    rows: rows.rows,
    fitted: fittedNumbers(flights, published.fit.paths),
    charts: flights.every((flight) => flight.usable) ? charts(flights, published) : [],
    notes: [...published.notes, ...windNotes(study, published, mid)],
  };
}

/** What the wind of the day would change, steering fitted anew; nothing where none was told. */
function windNotes(study: Study, published: ReportedFlight, still: Reflown): string[] {
  const { wind, maxDynamicPressure, states } = published;
  const first = states[states.findIndex((state) => state.stage !== states[0]!.stage) - 1];
  if (wind === undefined || first === undefined || !still.usable) return [];
  const from = wind.from_deg / DEG;
  const row = (height_m: number, speed_mps: number): NonNullable<Study['earth']['wind']>[number] => ({
    height_m,
    eastward_mps: -speed_mps * Math.sin(from),
    northward_mps: -speed_mps * Math.cos(from),
  });
  const profile = [
    row(wind.surfaceHeight_m, wind.surface_mps),
    row(wind.peakHeight_m, wind.peak_mps),
    row(wind.calm_m, 0),
  ];
  const blown = new Reflown(study, published, 'mid', still.fit.values, profile);
  if (!blown.usable) return [`With the wind of the day the fit comes to nothing: ${blown.fit.message}`];
  const change = (read: (flight: Reflown) => number): number => read(blown) - read(still);
  const at = (flight: Reflown): SpaceFixed => flight.state(flight.time_s(first.event));
  const peak_Pa = change(
    (flight) => flight.greatest('liftoff', first.event, (now) => now.dynamicPressure_Pa).value,
  );
  return [
    `Wind of the day, ${wind.surface_mps} m/s at the ground and ${wind.peak_mps} m/s at ${wind.peakHeight_m / 1000} km ` +
      `(${wind.source}; ${wind.status}), is not in the flight scored. With it, steering fitted anew, ${first.name} changes by ` +
      `${change((flight) => at(flight).height_m).toFixed(0)} m of height and ` +
      `${change((flight) => at(flight).speed_mps).toFixed(1)} m/s, the greatest dynamic pressure by ` +
      `${(peak_Pa / 1000).toFixed(2)} kPa of ${(maxDynamicPressure.pressure_Pa / 1000).toFixed(1)}.`,
  ];
}

function fittedNumbers(flights: readonly Reflown[], paths: readonly string[]): FittedNumber[] {
  const [mid, low, high] = flights;
  return paths.map((path) => {
    const index = mid!.compiled.parameters.findIndex((parameter) => parameter.path === path);
    const { name, unit, perUnit } = mid!.compiled.parameters[index]!;
    const read = (flight: Reflown): number => flight.fit.values[index]! / perUnit;
    return { path, name, unit, value: read(mid!), band: [read(low!), read(high!)] };
  });
}

function charts(flights: readonly Reflown[], published: ReportedFlight): TimeChart[] {
  const [mid, low, high] = flights as readonly [Reflown, Reflown, Reflown];
  const start_s = mid.record.plan.release_s;
  const end_s = Math.min(...flights.map((flight) => flight.record.plan.insertion_s));
  const time_s = Array.from({ length: SAMPLES + 1 }, (_, i) => start_s + ((end_s - start_s) * i) / SAMPLES);
  const strip = 'ours less reported: as scored, with low and high drag, and what is allowed';
  const chart = (title: string, unit: string, key: StateQuantity, scale: number): TimeChart => {
    const curve = (flight: Reflown): number[] => time_s.map((t) => flight.state(t)[key] / scale);
    const points = published.states.flatMap(
      ({ time_s: at_s, name, event, stage, ...state }): ChartPoint[] => {
        const value = state[key];
        if (value === undefined) return [];
        const at = (flight: Reflown): number => flight.state(flight.time_s(event))[key] / scale;
        const within = allowed(published.tolerances[stage]!, key, value);
        const tolerance = within === undefined ? null : ([within[0]! / scale, within[1]! / scale] as const);
        return [
          { time_s: at_s, name, theirs: value / scale, ours: at(mid), span: [at(low), at(high)], tolerance },
        ];
      },
    );
    const band = { low: curve(low), high: curve(high) };
    return { title, unit, strip, time_s, ours: curve(mid), band, points };
  };
  return [
    chart('Height above the ellipsoid', 'km', 'height_m', 1000),
    chart('Space-fixed speed', 'm/s', 'speed_mps', 1),
    chart('Flight-path angle, space-fixed', '°', 'flightPathAngle_deg', 1),
    chart('Range over the ground', 'km', 'range_m', 1000),
    massChart(flights, published, time_s, strip),
  ];
}

/** What the report's tolerances allow of a state's quantity; undefined where it is not scored. */
function allowed(
  tolerances: ReportedFlight['tolerances'][string],
  key: StateQuantity,
  value: number,
): readonly number[] | undefined {
  if (key !== 'speed_mps') return tolerances[key].within;
  return tolerances.speed_share?.within.map((each) => each * value);
}

/** Mass falls at once where something is let go: both sides of each such time are drawn. */
function massChart(
  flights: readonly Reflown[],
  published: ReportedFlight,
  grid_s: readonly number[],
  strip: string,
): TimeChart {
  const [mid, low, high] = flights as readonly [Reflown, Reflown, Reflown];
  const TONNE = 1000;
  const last_s = grid_s[grid_s.length - 1]!;
  const { steps } = mid.record.tracks[0]!;
  const joints = Array.from({ length: steps.count - 1 }, (_, i) => steps.timeOf(i + 1)).filter(
    (t) => t > grid_s[0]! && t < last_s && mid.at(t, true).mass_kg - mid.at(t).mass_kg > 1,
  );
  const moments = [
    ...grid_s.map((t) => ({ t, before: false })),
    ...joints.flatMap((t) => [
      { t, before: true },
      { t, before: false },
    ]),
  ].sort((a, b) => a.t - b.t || Number(b.before) - Number(a.before));
  const curve = (flight: Reflown): number[] =>
    moments.map(({ t, before }) => flight.at(t, before).mass_kg / TONNE);
  const points = published.masses.map((each): ChartPoint => {
    const time = (flight: Reflown): number => each.time_s ?? flight.time_s(each.event!);
    const at = (flight: Reflown): number => flight.at(time(flight), each.side === 'before').mass_kg / TONNE;
    const { name, mass_kg, within_kg } = each;
    const tolerance = [-within_kg / TONNE, within_kg / TONNE] as const;
    const span = [at(low), at(high)] as const;
    return { time_s: time(mid), name, theirs: mass_kg / TONNE, ours: at(mid), span, tolerance };
  });
  return {
    title: 'Mass',
    unit: 't',
    strip,
    time_s: moments.map(({ t }) => t),
    ours: curve(mid),
    band: { low: curve(low), high: curve(high) },
    points,
  };
}
