import { describe, expect, it } from 'vitest';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { sameOrder, TimedPlans } from '../../../core/flight/timed.ts';
import { withGap } from '../../../core/study/gap.ts';
import { study } from '../../assets/demos.ts';

describe('what comes about at once by two sums', () => {
  // Full thrust 0.2 s and 1.4 s after a start that leads by 1 s, and a parting 0.6 s after the cut: −1 + 0.2 + 1.4 = 0.6.
  const compiled = compileStudy(withGap(study('heavy'), 'ignition', -1), 'booster');

  it('makes no span between', () => {
    for (const { start_s, end_s } of compiled.plan.segments) expect(end_s - start_s).toBeGreaterThan(1e-6);
  });

  it('comes in the same order whatever is kept for the return', () => {
    const plans = new TimedPlans(compiled);
    const values = startValues(compiled);
    const reserve = values.length - 1;
    const first = plans.at(values);
    for (let i = 1; i <= 200; i++) {
      values[reserve] = 88_000 + 317.3 * i;
      expect(sameOrder(first, plans.at(values))).toBe(true);
    }
  });
});
