/** A calibration as a table for other programs, the same from the window and from the command. */
import { csvText } from '../sweepCsv.ts';
import type { Calibration } from './calibrate.ts';

/**
 * Points beside what is computed, before and after, as CSV under caution, hash of the inputs and how it went. SI; residuals in
 * errors. What has not converged has no rows.
 */
export function calibrationCsv(found: Calibration, caution: string, hash: string): string {
  const names = ['quantity', 'time_s', 'observed', 'error', 'before', 'computed', 'residual'];
  const rows = found.status === 'converged' ? found.points : [];
  return csvText(
    [caution, `inputs ${hash}`, found.message],
    names,
    rows.map((p) => [p.quantity, p.time_s, p.value, p.error, p.before, p.computed, p.residual]),
  );
}
