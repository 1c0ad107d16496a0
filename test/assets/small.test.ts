import { describe, expect, it } from 'vitest';
import { cold, study } from './demos.ts';
import { entry, solved } from './figures.ts';

describe('the small demo', () => {
  it('parts by springs after the tail-off and lights when it is clear', () => {
    const { record } = cold('small');
    const { shutDown } = study('small').vehicle.bodies['booster']!.engineGroups['main']!;
    const parted_s = entry(record, 'separation').time_s - entry(record, 'meco').time_s;
    expect(parted_s).toBeGreaterThan(shutDown.delay_s + shutDown.ramp_s);
    expect(entry(record, 'ignition').time_s).toBeGreaterThan(entry(record, 'separation').time_s + 2);
  });

  it('keeps its fairing until the air is thin', () => {
    for (const gap of [3, 6.5]) {
      const { dynamicPressure_Pa, speedRelative_mps, height_m } = entry(
        solved(study('small'), gap).record,
        'fairing-away',
      );
      // ½ ρ v³ below 1135 W/m², the usual limit for a bare payload (from memory).
      expect(dynamicPressure_Pa * speedRelative_mps).toBeLessThan(1135);
      expect(height_m).toBeGreaterThan(110_000);
    }
  });
});
