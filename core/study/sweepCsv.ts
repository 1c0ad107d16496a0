/** A sweep as a table for other programs, the same from the window and from the command. */
import type { NumberSweep } from './numberSweep.ts';
import type { SweepPoint, SweepResult } from './sweep.ts';

type Column = readonly [name: string, value: (point: SweepPoint) => number | string | undefined];

const COLUMNS: readonly Column[] = [
  ['mode', (p) => p.mode],
  ['gap_s', (p) => p.gap_s],
  ['effectiveGap_s', (p) => p.effectiveGap_s],
  ['status', (p) => p.outcome.status],
  ['payload_kg', (p) => p.payload_kg],
  ['share', (p) => p.share],
  ['perigee_m', (p) => p.perigee_m],
  ['apogee_m', (p) => p.apogee_m],
  ['ideal_mps', (p) => p.ledger?.ideal_mps],
  ['gravity_mps', (p) => p.ledger?.gravity_mps],
  ['steering_mps', (p) => p.ledger?.steering_mps],
  ['drag_mps', (p) => p.ledger?.drag_mps],
  ['backPressure_mps', (p) => p.ledger?.backPressure_mps],
  ['centrifugal_mps', (p) => p.ledger?.centrifugal_mps],
  ['reason', (p) => (p.outcome.status === 'converged' ? undefined : p.outcome.message)],
];

/** Where a return is solved with the ascent. */
const COUPLED: readonly Column[] = [
  ['returnTakes_kg', (p) => p.coupled?.used_kg],
  ['reserve_kg', (p) => p.coupled?.reserve_kg],
  ['payloadPerReserveKilogram', (p) => p.coupled?.pricePerKilogram],
];

/**
 * A sweep as CSV (RFC 4180, but with plain line feeds): the caution and the inputs' hash as two `#` lines, a line of
 * names, then one row a point in the sweep's order. Numbers in full, in the unit of their column's name; `share` is
 * dimensionless. Where a return is solved with the ascent, what it takes stands behind. What is not solved has an empty payload and its reason. Never fails.
 */
export function sweepCsv(sweep: SweepResult, caution: string, hash: string): string {
  const columns = sweep.reference.coupled === null ? COLUMNS : [...COLUMNS, ...COUPLED];
  return csvText(
    [caution, `inputs ${hash}`],
    columns.map(([name]) => name),
    sweep.points.map((point) => columns.map(([, value]) => value(point))),
  );
}

/** Names of the parts into which a change of payload is taken apart, in the order in which they are written. */
export const ANATOMY_PARTS = [
  'gravity',
  'steering',
  'drag',
  'back-pressure',
  'centrifugal',
  'turning Earth',
  'the vehicle itself',
  'target speed',
] as const;

/**
 * A sweep of any number as CSV, headed as `sweepCsv`: value in the number's own unit, payload and what each part of its change
 * is worth in kg, share of the reference's payload dimensionless. Never fails.
 */
export function numberSweepCsv(
  { path, points, reference }: NumberSweep,
  caution: string,
  hash: string,
): string {
  return csvText(
    [caution, `inputs ${hash}`, `of ${path}`],
    [
      'mode',
      'value',
      'status',
      'payload_kg',
      'share',
      ...ANATOMY_PARTS.map((name) => `${name} kg`),
      'reason',
    ],
    points.map((p) => [
      ...[p.mode, p.value, p.outcome.status, p.payload_kg, p.payload_kg / reference.outcome.payload_kg],
      ...ANATOMY_PARTS.map((name) => p.anatomy?.parts.find((part) => part.name === name)?.payload_kg),
      p.outcome.status === 'converged' ? undefined : p.outcome.message,
    ]),
  );
}

/**
 * Rows as CSV under `#` lines and a line of names. What is undefined or no number is left empty; a text is quoted where
 * it must be. Units are the caller's.
 */
export function csvText(
  remarks: readonly string[],
  names: readonly string[],
  rows: readonly (readonly (number | string | undefined)[])[],
): string {
  const lines = [names, ...rows].map((row) => row.map(cell).join(','));
  return [...remarks.map((words) => `# ${words}`), ...lines].map((line) => `${line}\n`).join('');
}

function cell(value: number | string | undefined): string {
  if (value === undefined) return '';
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : '';
  return /[",\r\n]/.test(value) ? `"${value.replaceAll('"', '""')}"` : value;
}
