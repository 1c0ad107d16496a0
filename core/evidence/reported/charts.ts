/** A reflown flight drawn against its report: curves with their drag band, reported points, and what is allowed of each. */
import type { Observation } from '../../flight/track.ts';
import type { ChartPoint, TimeChart } from '../../replay/timeChart.ts';
import type { Reflown } from './reflown.ts';
import type { ReportedFlight, StateQuantity } from './report.ts';

/** Points of a chart's curve. */
const SAMPLES = 240;

/**
 * Height, space-fixed speed and angle, range, mass and acceleration of three flights (middle, low and high drag, all usable)
 * over the report's points. Kilometres, m/s, degrees, tonnes, m/s²; seconds of mission time.
 */
export function reportedCharts(flights: readonly Reflown[], published: ReportedFlight): TimeChart[] {
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
    ...jumpCharts(flights, published, time_s, strip),
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

/** Mass and what is felt on board jump where something is let go, lit or cut: both sides of each such time are drawn. */
function jumpCharts(
  flights: readonly Reflown[],
  published: ReportedFlight,
  grid_s: readonly number[],
  strip: string,
): TimeChart[] {
  const [mid, low, high] = flights as readonly [Reflown, Reflown, Reflown];
  const TONNE = 1000;
  const last_s = grid_s[grid_s.length - 1]!;
  const joints = mid.record.tracks[0]!.segments.map((segment) => segment.start_s).filter(
    (t) => t > grid_s[0]! && t < last_s,
  );
  const moments = [
    ...grid_s.map((t) => ({ t, before: false })),
    ...joints.flatMap((t) => [
      { t, before: true },
      { t, before: false },
    ]),
  ].sort((a, b) => a.t - b.t || Number(b.before) - Number(a.before));
  const chart = (
    title: string,
    unit: string,
    read: (now: Observation) => number,
    points: readonly ChartPoint[],
  ): TimeChart => {
    const curve = (flight: Reflown): number[] => moments.map(({ t, before }) => read(flight.at(t, before)));
    const band = { low: curve(low), high: curve(high) };
    return { title, unit, strip, time_s: moments.map(({ t }) => t), ours: curve(mid), band, points };
  };
  const masses = published.masses.map((each): ChartPoint => {
    const time = (flight: Reflown): number => each.time_s ?? flight.time_s(each.event!);
    const at = (flight: Reflown): number => flight.at(time(flight), each.side === 'before').mass_kg / TONNE;
    const { name, mass_kg, within_kg } = each;
    const tolerance = [-within_kg / TONNE, within_kg / TONNE] as const;
    const span = [at(low), at(high)] as const;
    return { time_s: time(mid), name, theirs: mass_kg / TONNE, ours: at(mid), span, tolerance };
  });
  const felt = published.accelerations.map(({ name, from, to, time_s, acceleration_mps2 }): ChartPoint => {
    const most = (flight: Reflown): number => flight.greatest(from, to, (now) => now.sensed_mps2).value;
    const [least = 0, largest = 0] = published.accelerationWithin.share.within;
    const tolerance = [least * acceleration_mps2, largest * acceleration_mps2] as const;
    return {
      time_s,
      name,
      theirs: acceleration_mps2,
      ours: most(mid),
      span: [most(low), most(high)],
      tolerance,
    };
  });
  return [
    chart('Mass', 't', (now) => now.mass_kg / TONNE, masses),
    chart('Acceleration felt, and its peaks', 'm/s²', (now) => now.sensed_mps2, felt),
  ];
}
