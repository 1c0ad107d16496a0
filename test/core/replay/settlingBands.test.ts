import { describe, expect, it } from 'vitest';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { layOutBands, layOutBraid } from '../../../core/replay/braid.ts';
import { packFlight } from '../../../core/replay/flightData.ts';
import { tellAllSettling } from '../../../core/replay/settlingTold.ts';
import { buildStrands } from '../../../core/replay/strands.ts';
import { study } from '../../assets/demos.ts';

describe('bands for the settling of propellant', () => {
  const compiled = compileStudy(study('small'));
  const record = recordFlight(compiled, startValues(compiled));
  const set = buildStrands(compiled, packFlight(record));
  const settling = tellAllSettling(compiled, record);

  it('are told for the stage that is lit in flight, from the last cut-off to its first thrust', () => {
    expect(settling.map(({ body }) => compiled.bodies[body]!.id)).toEqual(['upper']);
    const time = (id: string): number => record.log.find((entry) => entry.id === id)!.time_s;
    expect(settling[0]!.from_s).toBeCloseTo(time('meco'), 9);
    // The demo's start-up delay.
    expect(settling[0]!.ignition_s).toBeCloseTo(time('ignition') + 0.35, 9);
    expect(settling[0]!.tanks.map(({ name }) => name)).toEqual(['Oxygen tank', 'Ethanol tank']);
    // Nothing holds the propellant of a cold gap without motors.
    expect(settling[0]!.state).toBe('unsettled');
    expect(settling[0]!.tanks.every(({ margin }) => margin === 0)).toBe(true);
  });

  it('lie on the middle of their strand, one after the other, cut to the span shown', () => {
    const { from_s, ignition_s, body } = settling[0]!;
    const shown = { start_s: from_s + 0.2, end_s: ignition_s + 3 };
    const shape = layOutBraid(set, {
      ...shown,
      ...{ left_px: 0, right_px: 1000, top_px: 20, bottom_px: 200, thickest_px: 40, ease_px: 100 },
    });
    const bands = layOutBands(shape, settling, shown);
    expect(bands.length).toBeGreaterThan(1);
    expect(bands[0]!.middle[0]!.x).toBeCloseTo(shape.x(shown.start_s), 9);
    // The history ends a millionth of a second before thrust.
    expect(bands.at(-1)!.middle.at(-1)!.x).toBeCloseTo(shape.x(ignition_s), 2);
    bands.forEach((band, i) => {
      if (i > 0) expect(band.middle[0]!.x).toBeCloseTo(bands[i - 1]!.middle.at(-1)!.x, 9);
      for (const { x, y } of band.middle) {
        const place = shape.at(body, shape.t(x));
        // A strand's ends aside, where the time read back off a pixel may be just outside.
        if (place !== null) expect(Math.abs(y - place.y)).toBeLessThan(1e-3);
      }
    });
    expect(layOutBands(shape, settling, { start_s: ignition_s + 1, end_s: ignition_s + 2 })).toEqual([]);
  });
});
