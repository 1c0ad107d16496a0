/** Points of a flight that somebody observed, read from a table: what, when, how much, how sure. */
import { DIMENSIONS, type Dimension } from '../../units/dimensions.ts';
import { unitFactor } from '../../units/unitTable.ts';

export type ObservedQuantity = 'altitude' | 'speed' | 'acceleration' | 'downrange';

/** SI: m, m/s, m/s². Speed is against the turning ground, acceleration what an accelerometer on board feels. */
export interface ObservedPoint {
  readonly quantity: ObservedQuantity;
  readonly time_s: number;
  readonly value: number;
  /** Standard deviation of the value. */
  readonly error: number;
}

/** The table cannot be used; the message is a clause without its full stop. */
export class PointsError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'PointsError';
  }
}

const QUANTITIES: Readonly<Record<ObservedQuantity | 'time', Dimension>> = {
  time: 'time',
  altitude: 'length',
  speed: 'speed',
  acceleration: 'acceleration',
  downrange: 'length',
};
const COLUMNS = Object.keys(QUANTITIES) as (ObservedQuantity | 'time')[];

interface Column {
  readonly name: ObservedQuantity | 'time';
  readonly isError: boolean;
  readonly factor: number;
}

/**
 * Reads a table of comma-separated values. Its header names the columns with their units in brackets, in any order and any
 * units of the right kind: `time [s], altitude [ft], altitude error [ft], speed [m/s], speed error [m/s]`. Every quantity has
 * an error column; a cell may be empty, and lines that are empty or start with # say nothing. Returns SI. Throws PointsError,
 * naming line and column, what was received and what is allowed.
 */
export function readPoints(text: string): ObservedPoint[] {
  const lines = text.split(/\r?\n/).map((line, i) => ({ line: line.trim(), number: i + 1 }));
  const [head, ...rows] = lines.filter(({ line }) => line !== '' && !line.startsWith('#'));
  if (head === undefined)
    throw new PointsError('points: received no lines, allowed is a header and one point or more');
  const columns = head.line
    .split(',')
    .map((cell, i) => readColumn(cell.trim(), `line ${head.number}, column ${i + 1}`));
  const find = (name: Column['name'], isError: boolean): number =>
    columns.findIndex((column) => column.name === name && column.isError === isError);
  columns.forEach(({ name, isError }, i) => {
    const place = `line ${head.number}, column ${i + 1}`;
    if (find(name, isError) !== i)
      throw new PointsError(`${place}: received ${name} again, allowed is each column once`);
    if (name !== 'time' && find(name, !isError) < 0) {
      const other = isError ? name : `${name} error`;
      throw new PointsError(`${place}: received ${name} without a column "${other}", allowed is both`);
    }
  });
  if (find('time', false) < 0)
    throw new PointsError(`line ${head.number}: received no column "time", allowed is one`);
  const points = rows.flatMap(({ line, number }) => {
    const texts = line.split(',').map((cell) => cell.trim());
    if (texts.length !== columns.length) {
      throw new PointsError(
        `line ${number}: received ${texts.length} cells, allowed is ${columns.length}, as in the header`,
      );
    }
    const cells = texts.map((cell, i) => readCell(cell, columns[i]!, number, i));
    const time_s = cells[find('time', false)]!;
    return COLUMNS.flatMap((quantity): ObservedPoint[] => {
      if (quantity === 'time' || find(quantity, false) < 0) return [];
      const value = cells[find(quantity, false)]!;
      if (Number.isNaN(value)) return [];
      const error = cells[find(quantity, true)]!;
      const at = (name: Column['name'], isError: boolean): string =>
        `line ${number}, column ${find(name, isError) + 1} (${name}${isError ? ' error' : ''})`;
      if (Number.isNaN(time_s))
        throw new PointsError(`${at('time', false)}: received nothing, allowed is a number`);
      if (!(error > 0))
        throw new PointsError(
          `${at(quantity, true)}: received ${Number.isNaN(error) ? 'nothing' : error}, allowed is a number above 0`,
        );
      return [{ quantity, time_s, value, error }];
    });
  });
  if (points.length === 0) throw new PointsError('points: received no values, allowed is one or more');
  return points;
}

function readColumn(cell: string, place: string): Column {
  const allowed = `one of ${COLUMNS.join(', ')}, or one of these followed by "error", with its unit in brackets`;
  const [, name = '', error, unit = ''] = /^([a-z]+)( error)?\s*\[([^\]]+)\]$/i.exec(cell) ?? [];
  const known = COLUMNS.find((each) => each === name.toLowerCase());
  const isError = error !== undefined;
  if (known === undefined || (known === 'time' && isError)) {
    throw new PointsError(`${place}: received the column "${cell}", allowed is ${allowed}`);
  }
  const { si, examples, doubtful, aliases } = DIMENSIONS[QUANTITIES[known]];
  const doubt = doubtful?.[unit];
  if (doubt !== undefined) throw new PointsError(`${place}: ${doubt}`);
  const found = unitFactor(aliases?.[unit] ?? unit, si);
  if (found.kind !== 'factor') {
    throw new PointsError(
      `${place}: received the unit "${unit}" of ${known}, allowed is one such as ${examples.join(', ')}`,
    );
  }
  return { name: known, isError, factor: found.factor };
}

/** SI, NaN where the cell is empty. */
function readCell(text: string, { name, isError, factor }: Column, line: number, column: number): number {
  if (text === '') return Number.NaN;
  // Number would take "0x10" and the like.
  const value = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?$/i.test(text) ? Number(text) : Number.NaN;
  if (!Number.isFinite(value)) {
    throw new PointsError(
      `line ${line}, column ${column + 1} (${name}${isError ? ' error' : ''}): received "${text}", allowed is a number or nothing`,
    );
  }
  return value * factor;
}
