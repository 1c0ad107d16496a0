/** How rows are written for people, in text and on the page. */
import type { EvidenceRow, Verdict } from './rows.ts';

const MOST_DECIMALS = 12;

/** A number to about a hundredth of `resolution`, both in the same unit; with a true minus. */
export function figure(value: number, resolution: number, signed = false): string {
  if (!Number.isFinite(value)) return 'none';
  const size = Math.abs(resolution);
  const decimals = size > 0 ? Math.max(0, 2 - Math.floor(Math.log10(size))) : 6;
  const small = decimals > MOST_DECIMALS || (value !== 0 && Math.abs(value) < 1e-4 && size < 1e-3);
  const text = small ? value.toExponential(signed ? 1 : 4) : value.toFixed(Math.min(decimals, MOST_DECIMALS));
  const plus = signed && value > 0 ? '+' : '';
  return plus + text.replace(/-/g, '−');
}

/** What deviations are allowed, such as ± 0.1 or −5 to +11; in the row's unit. */
function allowed({ tolerance: [low, high] }: EvidenceRow): string {
  const short = (value: number): string => {
    const text =
      Math.abs(value) < 1e-4 && value !== 0 ? value.toExponential(1) : String(Number(value.toPrecision(3)));
    return text.replace(/-/g, '−');
  };
  return low === -high ? `± ${short(high)}` : `${short(low)} to +${short(high)}`;
}

/** Share of the allowed deviation that is used up: 1 at the limit, signed as the deviation; dimensionless. */
export function used({ deviation, tolerance: [low, high] }: EvidenceRow): number {
  if (deviation === 0) return 0;
  const limit = deviation < 0 ? -low : high;
  return limit > 0 ? deviation / limit : Math.sign(deviation) * Number.POSITIVE_INFINITY;
}

/** Digits that a printed number has at most; a longer one was computed and is cut to what its tolerance tells apart. */
const MOST_PRINTED = 12;

function asPublished({ published }: EvidenceRow, resolution: number): string {
  const text =
    published.length > MOST_PRINTED && Number.isFinite(Number(published))
      ? figure(Number(published), 0.01 * resolution)
      : published;
  return text.replace(/-(?=\d)/g, '−');
}

/** The cells of a row: published, ours, deviation, allowed, verdict; with units. */
export function cells(row: EvidenceRow): {
  published: string;
  ours: string;
  deviation: string;
  allowed: string;
  verdict: Verdict;
} {
  const unscored = row.verdict === 'fitted' || row.verdict === 'given';
  const resolution = unscored
    ? 1e-3 * Math.max(1, Math.abs(row.ours))
    : Math.max(-row.tolerance[0], row.tolerance[1]);
  const unit = row.unit === '' ? '' : ` ${row.unit}`;
  return {
    published: `${asPublished(row, resolution)}${unit}`,
    ours: `${figure(row.ours, resolution)}${unit}`,
    deviation: figure(row.deviation, resolution, true),
    allowed: unscored ? '' : allowed(row),
    verdict: row.verdict,
  };
}
