import { describe, expect, it } from 'vitest';
import { sweepGap } from '../../../core/study/sweep.ts';
import { csvText, sweepCsv } from '../../../core/study/sweepCsv.ts';
import { r1 } from '../flight/studies.ts';

describe('a sweep as CSV', () => {
  it('has a row a point with the numbers in full, and no number for what is not solved', () => {
    const sweep = sweepGap(r1(), { gaps_s: [0, 600], ledgers: true });
    const [caution, inputs, head = '', solved = '', lost = '', end] = sweepCsv(
      sweep,
      'Mind, this.',
      'abc',
    ).split('\n');
    expect(caution).toBe('# Mind, this.');
    expect(inputs).toBe('# inputs abc');
    expect(end).toBe('');
    const names = head.split(',');
    const cells = solved.split(',');
    expect(cells).toHaveLength(names.length);
    const at = (name: string): string | undefined => cells[names.indexOf(name)];
    const [point] = sweep.points;
    expect(Number(at('payload_kg'))).toBe(point!.payload_kg);
    expect(Number(at('gravity_mps'))).toBe(point!.ledger!.gravity_mps);
    expect(at('reason')).toBe('');
    expect(lost).toMatch(/^reoptimised,600,[\d.]+,cannotReachOrbit,,,,,,,,,,,\S/);
  });

  it('quotes as RFC 4180 asks, section 2, rules 6 and 7', () => {
    const rows = [
      ['plain', 'with, comma', 'with "mark"', 'two\nlines', Number.NaN, undefined, -0.5],
    ] as const;
    expect(csvText([], ['a'], rows)).toBe('a\nplain,"with, comma","with ""mark""","two\nlines",,,-0.5\n');
  });
});
