/** A reported flight scored row by row: what the report says beside the flight reflown at a middle, low and high drag. */
import { EARTH_EQUATORIAL_RADIUS_m, EARTH_GM_m3ps2 } from '../../constants/physical.ts';
import { orbitalPeriod_s } from '../../earth/orbit.ts';
import type { FlightRecord } from '../../flight/record.ts';
import type { SpaceFixed } from '../../flight/space.ts';
import { Rows, type EvidenceRow } from '../rows.ts';
import type { Reflown } from './reflown.ts';
import type { ReportedFlight, ReportedState, StateQuantity, Within } from './report.ts';

type Read = (flight: Reflown) => number;
interface Told {
  readonly source: string;
  readonly explained?: string | undefined;
  readonly status?: string;
}

const DEG = 180 / Math.PI;

const shareOf = (value: number, { within, why }: Within): Within => ({
  within: within.map((each) => each * Math.abs(value)),
  why,
});

/**
 * Rows of a report against three flights, the middle drag first; SI and degrees. Where a flight could not be fitted its
 * numbers are NaN, so that the rows fail.
 */
export function scoreReported(published: ReportedFlight, flights: readonly Reflown[]): EvidenceRow[] {
  const scores = new Scores(published, flights);
  published.states.forEach((state) => scores.state(state));
  scores.insertion();
  scores.masses();
  scores.pressure();
  scores.peaks();
  scores.velocities();
  return scores.rows.rows;
}

class Scores {
  readonly rows: Rows;
  private readonly mid: Reflown;

  constructor(
    private readonly published: ReportedFlight,
    private readonly flights: readonly Reflown[],
  ) {
    this.rows = new Rows(published);
    this.mid = flights[0]!;
  }

  private add(
    quantity: string,
    unit: string,
    theirs: number,
    read: Read,
    { within, why }: Within,
    { source, explained, status }: Told,
  ): void {
    const [ours = Number.NaN, low = Number.NaN, high = Number.NaN] = this.flights.map((flight) =>
      flight.usable ? read(flight) : Number.NaN,
    );
    const tolerance = [within[0]!, within[1]!] as const;
    this.rows.compare({
      quantity,
      unit,
      published: theirs,
      ours,
      tolerance,
      why,
      band: [low, high],
      source,
      explained,
      status,
    });
  }

  /** A reported event: its time and the space-fixed state there; what has no tolerance was given to the flight. */
  state(state: ReportedState): void {
    const own = this.published.tolerances[state.stage]!;
    const say = (
      quantity: string,
      unit: string,
      key: StateQuantity | 'time_s',
      within: Within | undefined,
    ): void => {
      const theirs = state[key];
      if (theirs === undefined) return;
      const name = `${quantity}, ${state.name}`;
      const read: Read = (flight) => {
        const time_s = flight.time_s(state.event);
        return key === 'time_s' ? time_s : flight.state(time_s)[key];
      };
      const { source } = state;
      if (within !== undefined)
        this.add(name, unit, theirs, read, within, { source, explained: state.explained[key] });
      else if (this.mid.usable) this.rows.show(name, unit, theirs, read(this.mid), 'given', source);
    };
    say('time', 's', 'time_s', own.time_s);
    say('height', 'm', 'height_m', own.height_m);
    say('range', 'm', 'range_m', own.range_m);
    const speed = own.speed_share && shareOf(state.speed_mps, own.speed_share);
    say('space-fixed speed', 'm/s', 'speed_mps', speed);
    say('flight-path angle', '°', 'flightPathAngle_deg', own.flightPathAngle_deg);
    say('heading', '°', 'heading_deg', own.heading_deg);
  }

  /** The state to which the steering was fitted, shown; the rest of the insertion and its orbit, scored. */
  insertion(): void {
    const { insertion } = this.published;
    const { source, within } = insertion;
    const end = (flight: Reflown): SpaceFixed => flight.state(flight.record.plan.insertion_s);
    const orbit = (flight: Reflown): NonNullable<FlightRecord['orbit']> => flight.record.orbit!;
    if (this.mid.usable) {
      const there = end(this.mid);
      const fitted = (quantity: string, unit: string, key: Exclude<StateQuantity, 'range_m' | 'speed_mps'>) =>
        this.rows.show(`${quantity}, insertion`, unit, insertion[key], there[key], 'fitted', source);
      fitted('height', 'm', 'height_m');
      fitted('flight-path angle', '°', 'flightPathAngle_deg');
      fitted('heading', '°', 'heading_deg');
    }
    const overSphere = EARTH_EQUATORIAL_RADIUS_m - insertion.sphere_m;
    const last = (quantity: string, unit: string, key: keyof typeof within, read: Read): void =>
      this.add(`${quantity}, insertion`, unit, insertion[key], read, within[key], { source });
    last('time', 's', 'time_s', (flight) => flight.record.plan.insertion_s);
    last('space-fixed speed', 'm/s', 'speed_mps', (flight) => end(flight).speed_mps);
    last('latitude', '°', 'latitude_deg', (flight) => end(flight).latitude_deg);
    last('longitude', '°', 'longitude_deg', (flight) => end(flight).longitude_deg);
    last('inclination', '°', 'inclination_deg', (flight) => orbit(flight).inclination_rad * DEG);
    last('eccentricity', '', 'eccentricity', (flight) => orbit(flight).eccentricity);
    last('apogee height', 'm', 'apogee_m', (flight) => orbit(flight).apogeeHeight_m + overSphere);
    last('perigee height', 'm', 'perigee_m', (flight) => orbit(flight).perigeeHeight_m + overSphere);
    last('period', 's', 'period_s', (flight) =>
      orbitalPeriod_s(orbit(flight).semiMajorAxis_m, EARTH_GM_m3ps2),
    );
  }

  masses(): void {
    const { source } = this.published;
    for (const { name, event, time_s, side, mass_kg, within_kg, why, explained } of this.published.masses) {
      const read: Read = (flight) => flight.at(time_s ?? flight.time_s(event!), side === 'before').mass_kg;
      const within = { within: [-within_kg, within_kg], why };
      this.add(`mass, ${name}`, 'kg', mass_kg, read, within, { source, explained });
    }
  }

  /** Greatest dynamic pressure and Mach 1: when and how high. */
  pressure(): void {
    const { maxDynamicPressure: q, mach1 } = this.published;
    const logged = (flight: Reflown, event: string) => flight.record.log.find((entry) => entry.id === event)!;
    const most = (flight: Reflown) => logged(flight, 'max-q');
    const greatest = 'greatest dynamic pressure';
    const within = shareOf(q.pressure_Pa, q.withinPressure_share);
    this.add(greatest, 'Pa', q.pressure_Pa, (flight) => most(flight).dynamicPressure_Pa, within, q);
    this.add(`time of the ${greatest}`, 's', q.time_s, (flight) => most(flight).time_s, q.withinTime_s, q);
    this.add(
      `height of the ${greatest}`,
      'm',
      q.height_m,
      (flight) => most(flight).height_m,
      q.withinHeight_m,
      q,
    );
    const sonic = (flight: Reflown) => logged(flight, 'mach-1');
    this.add(
      'time of Mach 1',
      's',
      mach1.time_s,
      (flight) => sonic(flight).time_s,
      mach1.withinTime_s,
      mach1,
    );
    this.add(
      'height of Mach 1',
      'm',
      mach1.height_m,
      (flight) => sonic(flight).height_m,
      mach1.withinHeight_m,
      mach1,
    );
  }

  /** Greatest acceleration felt and greatest speed over the ground, between two events each. */
  peaks(): void {
    const { accelerations, accelerationWithin, accelerationSource, groundSpeeds, groundSpeedSource } =
      this.published;
    for (const { name, from, to, acceleration_mps2, explained } of accelerations) {
      this.add(
        `greatest sensed acceleration, ${name}`,
        'm/s²',
        acceleration_mps2,
        (flight) => flight.greatest(from, to, (now) => now.sensed_mps2).value,
        shareOf(acceleration_mps2, accelerationWithin.share),
        { source: accelerationSource, explained },
      );
    }
    for (const { name, from, to, speed_mps, share, why } of groundSpeeds) {
      this.add(
        `greatest Earth-fixed speed, ${name}`,
        'm/s',
        speed_mps,
        (flight) => flight.greatest(from, to, (now) => now.speedRelative_mps).value,
        shareOf(speed_mps, { within: [-share, share], why }),
        { source: groundSpeedSource },
      );
    }
  }

  velocities(): void {
    const { ideal_mps, drag_mps, within, source, status } = this.published.velocities;
    const told = { source, status };
    const ledger = (flight: Reflown) => flight.record.ledger!;
    this.add(
      'ideal velocity of the ascent',
      'm/s',
      ideal_mps,
      (flight) => ledger(flight).ideal_mps,
      within.ideal_mps,
      told,
    );
    this.add('drag loss', 'm/s', drag_mps, (flight) => ledger(flight).drag_mps, within.drag_mps, told);
  }
}
