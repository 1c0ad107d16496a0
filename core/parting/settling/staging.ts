/** Settling through a staging: every tank of the upper body from cut-off to ignition, a verdict, and the motor it asks for. */
import { FLUIDS } from '../../constants/fluids.ts';
import { G0_mps2 } from '../../constants/physical.ts';
import { AZIMUTH, type CompiledStudy } from '../../flight/compile.ts';
import { launchFrame } from '../../flight/launch.ts';
import type { FlightRecord } from '../../flight/record.ts';
import { TrackReader } from '../../flight/track.ts';
import { fillTanks } from '../../vehicle/tanks.ts';
import { followLiquid, sampleAt, settledFrom_s, type SettlingState, type TankHistory } from './history.ts';
import { accelerationOfBond_mps2, bondNumber, CRITICAL_BOND, reorientationSpeed_mps } from './interface.ts';
import { sidesAt } from './sides.ts';

export interface TankVerdict {
  readonly history: TankHistory;
  readonly state: SettlingState;
  /** At ignition. */
  readonly displaced_m: number;
  readonly bond: number;
  /** Bond number over the critical one where a forward acceleration holds the liquid, else 0; above 1 it holds. */
  readonly margin: number;
  /** Least forward acceleration that holds the liquid, m/s². */
  readonly holding_mps2: number;
}

export interface StagingSettling {
  readonly body: string;
  /** Mission time at which the history starts: the last cut-off command before ignition, all liquid in place. */
  readonly from_s: number;
  /** Mission time of the first thrust. */
  readonly ignition_s: number;
  readonly tanks: readonly TankVerdict[];
  /** The worst of the tanks. */
  readonly state: SettlingState;
  /** From release on, when all tanks are settled for the first time, mission time; NaN when never before ignition. */
  readonly settledFrom_s: number;
  readonly criterion: string;
}

/** The criterion and its sources, for reports. */
const CRITERION =
  'settled: in place, and held by a forward acceleration beyond the critical Bond number 0.842 on the tank radius (Concus ' +
  '1968, Masica and others, NASA TN D-2267, from memory, recomputed); motion by the reorientation speed of NASA TN D-3005 ' +
  '(from memory)';

const STEP_s = 0.01;
const WORST: readonly SettlingState[] = ['unsettled', 'moving', 'settled'];

/**
 * Follows the tanks of a body (its id) of a recorded flight from mission time `from_s` to `ignition_s` (s); SI. Null when the
 * body has no tanks. The sensed acceleration is the flight's own: thrust, motors, springs and drag, along the thrust's axis.
 */
export function settlingOf(
  compiled: CompiledStudy,
  record: FlightRecord,
  body: string,
  from_s: number,
  ignition_s: number,
): StagingSettling | null {
  const index = compiled.bodies.findIndex((each) => each.id === body);
  const { data } = compiled.bodies[index]!;
  if (data.tanks === undefined || Object.keys(data.tanks).length === 0) return null;
  const track = record.tracks[0]!;
  const reader = new TrackReader(
    compiled,
    track,
    record.values,
    launchFrame(compiled.site, record.values[AZIMUTH]!),
  );
  const acceleration = (t: number): number => {
    const now = reader.at(t);
    const air = airAlong(now.state, now.aim, compiled.earth.rotation_radps);
    return (now.thrustNet_N - now.drag_N * air) / now.mass_kg;
  };
  const sides = sidesAt(compiled, record.plan, record.plan.segments, index, from_s);
  const count = Math.max(2, Math.ceil((ignition_s - from_s) / STEP_s));
  // Up to the last instant before thrust, so that the verdict is on what the engine finds.
  const times = Float64Array.from(
    { length: count + 1 },
    (_, i) => from_s + ((ignition_s - 1e-6 - from_s) * i) / count,
  );
  const tanks = fillTanks(data, sides).map((fill): TankVerdict => {
    const history = followLiquid(fill, times, acceleration);
    const last = sampleAt(history, ignition_s);
    const { density_kgpm3, surfaceTension_Npm } = FLUIDS[fill.tank.fluid];
    return {
      history,
      state: last.state,
      displaced_m: last.displaced_m,
      bond: last.bond,
      margin: last.acceleration_mps2 > 0 ? last.bond / CRITICAL_BOND : 0,
      holding_mps2: accelerationOfBond_mps2(
        CRITICAL_BOND,
        density_kgpm3,
        fill.tank.radius_m,
        surfaceTension_Npm,
      ),
    };
  });
  const settled = tanks.map(({ history }) => settledFrom_s(history, from_s));
  return {
    body,
    from_s,
    ignition_s,
    tanks,
    state: WORST.find((state) => tanks.some((tank) => tank.state === state)) ?? 'settled',
    settledFrom_s: settled.some(Number.isNaN) ? Number.NaN : Math.max(...settled),
    criterion: CRITERION,
  };
}

function airAlong(state: Float64Array, aim: Float64Array, rotation_radps: number): number {
  const x = state[3]! + rotation_radps * state[1]!;
  const y = state[4]! - rotation_radps * state[0]!;
  return (x * aim[0]! + y * aim[1]! + state[5]! * aim[2]!) / Math.hypot(x, y, state[5]!);
}

export interface SettlingMotor {
  /** Sensed acceleration that brings the liquid of every tank back from the top of its ullage in time, m/s². */
  readonly acceleration_mps2: number;
  readonly thrust_N: number;
  readonly burn_s: number;
  readonly propellant_kg: number;
}

/** Of small solid motors; common practice, no source. */
const SETTLING_ISP_s = 230;

/**
 * The settling motors that bring propellant home between a release (mission time, s) and thrust, at the mass (kg) of what goes
 * on above; see `settlingMotor`. Null where it is settled, or thrust sets in before the release.
 */
export function missingMotor(
  { state, tanks, ignition_s }: StagingSettling,
  release_s: number,
  mass_kg: number,
): SettlingMotor | null {
  const burn_s = ignition_s - release_s;
  if (state === 'settled' || !(burn_s > 0)) return null;
  // Drag holds the body back all the while; the motor must do more than that.
  const least_mps2 = Math.min(
    ...tanks[0]!.history.samples.flatMap(({ time_s, acceleration_mps2 }) =>
      time_s > release_s ? [acceleration_mps2] : [],
    ),
  );
  return settlingMotor(tanks, mass_kg, burn_s, SETTLING_ISP_s, Math.max(0, -least_mps2));
}

/**
 * The settling motors that a coast of `burn_s` (s) asks for at a mass (kg) with this specific impulse (s): enough that in
 * every tank the leading edge comes the whole ullage at the published speed, and holds beyond twice the critical Bond
 * number. `against_mps2` is what else holds the body back (drag; m/s², positive), which the motors make up for. NaN where no
 * acceleration up to 10 g does.
 */
export function settlingMotor(
  tanks: readonly TankVerdict[],
  mass_kg: number,
  burn_s: number,
  isp_s: number,
  against_mps2 = 0,
): SettlingMotor {
  const needed = tanks.map(({ history }) => {
    const { tank, ullage_m } = history.fill;
    const { density_kgpm3, surfaceTension_Npm } = FLUIDS[tank.fluid];
    const travel_m = (a: number): number =>
      burn_s *
      reorientationSpeed_mps(
        a,
        tank.radius_m,
        bondNumber(density_kgpm3, a, tank.radius_m, surfaceTension_Npm),
      );
    let low = accelerationOfBond_mps2(2 * CRITICAL_BOND, density_kgpm3, tank.radius_m, surfaceTension_Npm);
    if (travel_m(low) >= ullage_m) return low;
    let high = 10 * G0_mps2;
    if (!(travel_m(high) >= ullage_m)) return Number.NaN;
    for (let i = 0; i < 100; i++) {
      const middle = Math.sqrt(low * high);
      if (travel_m(middle) >= ullage_m) high = middle;
      else low = middle;
    }
    return high;
  });
  const acceleration_mps2 = needed.some(Number.isNaN) ? Number.NaN : Math.max(...needed);
  const thrust_N = (acceleration_mps2 + against_mps2) * mass_kg;
  return { acceleration_mps2, thrust_N, burn_s, propellant_kg: (thrust_N * burn_s) / (isp_s * G0_mps2) };
}
