/**
 * What a published check is made of: rows that set a number of ours beside a published one, with a tolerance and the reason
 * for it. Plain data, so that tests, the command and the window show the same.
 */
import type { TimeChart } from '../replay/timeChart.ts';

/**
 * `fitted` rows were used to adjust the flight, `given` ones were put into it: both prove nothing and are shown, not scored.
 */
export type Verdict = 'holds' | 'fails' | 'fitted' | 'given';

export interface EvidenceRow {
  readonly quantity: string;
  /** Of all the numbers in the row; empty for a plain number. */
  readonly unit: string;
  readonly source: string;
  /** How the published number is known: confirmed, computed, from memory, in the words of its data file. */
  readonly status: string;
  /** As printed where it was printed; a range where a range was. */
  readonly published: string;
  readonly ours: number;
  /** Ours less theirs; of a range, how far outside. */
  readonly deviation: number;
  /** Least and greatest deviation that holds. */
  readonly tolerance: readonly [number, number];
  /** Why the tolerance is what it is. */
  readonly why: string;
  readonly verdict: Verdict;
  /** What the deviation comes from, where that is known. */
  readonly explained?: string;
  /** Ours under the low and the high assumption of what nobody published. */
  readonly band?: readonly [number, number];
}

/** A number that was adjusted, in the unit of the study. */
export interface FittedNumber {
  readonly path: string;
  readonly name: string;
  readonly unit: string;
  readonly value: number;
  /** Under the low and the high assumption. */
  readonly band?: readonly [number, number];
}

export interface EvidenceOutcome {
  readonly id: string;
  readonly title: string;
  readonly about: string;
  readonly rows: readonly EvidenceRow[];
  readonly fitted: readonly FittedNumber[];
  readonly charts: readonly TimeChart[];
  /** What is left out and why, and what else a reader should know. */
  readonly notes: readonly string[];
}

interface Comparison {
  quantity: string;
  unit: string;
  published: number | string;
  ours: number;
  tolerance: number | readonly [number, number];
  why: string;
  source?: string;
  status?: string | undefined;
  explained?: string | undefined;
  band?: readonly [number, number] | undefined;
}

/** One unit in the last printed digit of a number given as printed: '3.6392e-1' has 1e-5. In the number's own unit. */
function lastDigit(printed: string): number {
  const [mantissa, exponent] = printed.toLowerCase().split('e');
  const decimals = mantissa!.split('.')[1]?.length ?? 0;
  return 10 ** (Number(exponent ?? '0') - decimals);
}

/** Gathers the rows of one source. */
export class Rows {
  readonly rows: EvidenceRow[] = [];

  constructor(private readonly from: { readonly source: string; readonly status: string }) {}

  /** Adds one comparison, in its unit; a number of ours that is none fails. */
  compare({ published, tolerance, explained, band, source, status, ...rest }: Comparison): void {
    const deviation = rest.ours - Number(published);
    const allowed = typeof tolerance === 'number' ? ([-tolerance, tolerance] as const) : tolerance;
    this.rows.push({
      ...rest,
      source: source ?? this.from.source,
      status: status ?? this.from.status,
      published: String(published),
      deviation,
      tolerance: allowed,
      verdict: deviation >= allowed[0] && deviation <= allowed[1] ? 'holds' : 'fails',
      ...(explained === undefined ? {} : { explained }),
      ...(band === undefined ? {} : { band }),
    });
  }

  /** Compares with a number as printed, to within so many units of its last digit. */
  digits(quantity: string, unit: string, ours: number, printed: string, why: string, units = 1): void {
    this.compare({ quantity, unit, published: printed, ours, tolerance: units * lastDigit(printed), why });
  }

  /** Compares with a published range: how far outside ours may lie, in its unit. */
  range(
    quantity: string,
    unit: string,
    ours: number,
    [low, high]: readonly [number, number],
    tolerance: number,
    why: string,
  ): void {
    const outside = ours < low ? ours - low : ours > high ? ours - high : Number.isNaN(ours) ? ours : 0;
    this.rows.push({
      quantity,
      unit,
      ...this.from,
      published: `${low} to ${high}`,
      ours,
      deviation: outside,
      tolerance: [-tolerance, tolerance],
      why,
      verdict: Math.abs(outside) <= tolerance ? 'holds' : 'fails',
    });
  }

  /** Shows a number that the flight was fitted to or given, unscored; in its unit. */
  show(
    quantity: string,
    unit: string,
    published: number,
    ours: number,
    verdict: 'fitted' | 'given',
    source = this.from.source,
  ): void {
    this.rows.push({
      quantity,
      unit,
      source,
      status: this.from.status,
      published: String(published),
      ours,
      deviation: ours - published,
      tolerance: [0, 0],
      why: verdict === 'fitted' ? 'a condition of the fit' : 'put into the flight as it was reported',
      verdict,
    });
  }
}

/** An outcome without fits and charts. Unitless. */
export function outcome(
  id: string,
  title: string,
  about: string,
  rows: readonly EvidenceRow[],
  notes: readonly string[] = [],
): EvidenceOutcome {
  return { id, title, about, rows, fitted: [], charts: [], notes };
}
