/** Sweeps and bands as what the chart draws. */
import type { ClaimVerdict } from '../../core/study/claim/judge.ts';
import type { Claim } from '../../core/contract/claims.ts';
import { bothWays } from '../../core/study/claim/answer.ts';
import { STEERING_MODES, type SweepResult } from '../../core/study/sweep.ts';
import { fixed } from '../../core/units/figures.ts';
import type { BandPoint, ChartCurve, ChartPoint, ReadOff } from '../charts/sweepData.ts';
import type { SpreadReply } from '../compute/protocol.ts';
import { quantityAt } from '../state/spread.ts';

/** Curves of a sweep of the gap, s. */
export function gapCurves(sweep: SweepResult): ChartCurve[] {
  return curvesOf(
    sweep.points.map(({ mode, gap_s, payload_kg, outcome }) => ({
      mode,
      solved: outcome.status === 'converged',
      x: gap_s,
      payload_kg,
      words: `${fixed(gap_s, 1)} s: ${fixed(payload_kg, 1)} kg`,
    })),
  );
}

function curvesOf(
  points: readonly (ChartPoint & { mode: ChartCurve['mode']; solved: boolean })[],
): ChartCurve[] {
  return STEERING_MODES.map((mode) => ({
    mode,
    points: points.filter((p) => p.mode === mode && p.solved).sort((p, q) => p.x - q.x),
  })).filter((curve) => curve.points.length > 0);
}

/** Where two of three members lie at each gap (s) that was drawn. */
export function bandOf(reply: SpreadReply): BandPoint[] {
  return [...reply.gaps_s]
    .sort((p, q) => p - q)
    .flatMap((gap_s) => {
      const own = quantityAt(reply, 'payload_kg', gap_s);
      return own === null || !Number.isFinite(own.sixth)
        ? []
        : [{ x: gap_s, low_kg: own.sixth, high_kg: own.fiveSixths }];
    });
}

/** The stated gain as a measure on the chart of the gap: from the change's payload to what it would have to beat. */
export function readOffOf(claim: Claim, verdict: ClaimVerdict): ReadOff | null {
  const ways = bothWays(claim, verdict);
  const own = verdict.variants[0];
  if (ways === null || own === undefined || !Number.isFinite(ways.place.value)) return null;
  const to_kg = own.change_kg / (1 + claim.statedGain);
  const stated = Number((100 * claim.statedGain).toPrecision(6));
  const { value, low, high } = ways.place;
  const end = (gap_s: number): string => (Number.isFinite(gap_s) ? fixed(gap_s, 1) : 'beyond');
  return {
    from_kg: own.change_kg,
    to_kg,
    words: `${stated} % more`,
    note: `than ${to_kg >= 10_000 ? `${fixed(to_kg / 1000, 2)} t` : `${fixed(to_kg, 0)} kg`}`,
    place: ways.place,
    placeWords: `${fixed(value, 1)} s, ${end(low)} to ${end(high)}`,
  };
}
