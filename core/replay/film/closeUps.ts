/** A parting's close-up for a film: worked out once at even times, then read at any time between them. */
import { compileStudy, type CompiledStudy } from '../../flight/compile.ts';
import { recordFlight, type FlightRecord } from '../../flight/record.ts';
import { PartingError, withPushedParting } from '../../parting/links.ts';
import { workOutParting, type Parting } from '../../parting/parting.ts';
import { BalanceError } from '../../vehicle/balance.ts';
import { closeUpAt, type CloseBody, type CloseUp, type Place } from '../closeUp.ts';

export interface CloseUps {
  /** Mission time of the release and of the last view, s. */
  readonly release_s: number;
  readonly end_s: number;
  readonly step_s: number;
  /** At release and every step after it. */
  readonly views: readonly CloseUp[];
}

/** Close enough that nothing moves by more than a centimetre from a straight line in between: half of 20 m/s² over 25 ms. */
const STEP_s = 0.05;
const LONGEST_s = 6;
const FAR_m = 160;

/**
 * The close-ups of the parting at a link (a body's id), for the parameter values (SI, radians) of the study's flight: the stack flies as solved, and the parting's mechanisms act as they do in `workOutParting`. Null where the
 * study says too little for a picture (outlines, masses) or the bodies do not part. Times in s, lengths in m.
 */
export function sampleCloseUps(compiled: CompiledStudy, values: Float64Array, link: string): CloseUps | null {
  const found = partingOf(compiled, values, link);
  if (found === null || found.parting.phase.steps.count === 0) return null;
  const { pushed, record, parting } = found;
  const { release_s } = parting.case;
  const count = Math.floor(Math.min(LONGEST_s, parting.phase.steps.end) / STEP_s);
  try {
    const views = Array.from({ length: count + 1 }, (_, i) =>
      closeUpAt(pushed, record, parting, null, release_s + i * STEP_s),
    );
    return { release_s, end_s: release_s + count * STEP_s, step_s: STEP_s, views };
  } catch (error) {
    if (error instanceof BalanceError) return null;
    throw error;
  }
}

function partingOf(
  compiled: CompiledStudy,
  values: Float64Array,
  link: string,
): { pushed: CompiledStudy; record: FlightRecord; parting: Parting } | null {
  try {
    const pushed = compileStudy(withPushedParting(compiled.study, link));
    const record = recordFlight(pushed, values);
    const parting = workOutParting(pushed, record, link, { longest_s: LONGEST_s, far_m: FAR_m });
    return { pushed, record, parting };
  } catch (error) {
    if (error instanceof PartingError || error instanceof BalanceError) return null;
    throw error;
  }
}

/** The close-up at a mission time (s): before release that of the release, between two views their straight mean. m */
export function closeUpBetween({ release_s, step_s, views }: CloseUps, time_s: number): CloseUp {
  const at = Math.min(views.length - 1, Math.max(0, (time_s - release_s) / step_s));
  const index = Math.min(views.length - 1, Math.floor(at));
  const from = views[index]!;
  const to = views[Math.min(views.length - 1, index + 1)]!;
  const share = at - index;
  if (share === 0) return { ...from, time_s };
  const number = (p: number, q: number): number => p + share * (q - p);
  const place = (p: Place, q: Place): Place => [number(p[0], q[0]), number(p[1], q[1])];
  const places = (p: readonly Place[], q: readonly Place[]): Place[] =>
    p.map((each, i) => place(each, q[i]!));
  const bodies = (p: readonly CloseBody[], q: readonly CloseBody[]): CloseBody[] =>
    p.map((body, i) => ({
      ...body,
      outline: places(body.outline, q[i]!.outline),
      plane: place(body.plane, q[i]!.plane),
      attitude_rad: number(body.attitude_rad, q[i]!.attitude_rad),
      tanks: body.tanks.map((tank, k) => {
        const other = q[i]!.tanks[k]!;
        return {
          ...tank,
          outline: places(tank.outline, other.outline),
          liquid: tank.liquid.map((each, l) => places(each, other.liquid[l] ?? each)),
        };
      }),
    }));
  return {
    time_s,
    upper: bodies(from.upper, to.upper),
    lower: bodies(from.lower, to.lower),
    gap_m: number(from.gap_m, to.gap_m),
    drift_m: number(from.drift_m, to.drift_m),
    tilt_rad: number(from.tilt_rad, to.tilt_rad),
    dimension: [place(from.dimension[0], to.dimension[0]), place(from.dimension[1], to.dimension[1])],
  };
}
