import { describe, expect, it } from 'vitest';
import { compileStudy, startValues } from '../../../../core/flight/compile.ts';
import { recordFlight } from '../../../../core/flight/record.ts';
import { withPushedParting } from '../../../../core/parting/links.ts';
import { workOutParting } from '../../../../core/parting/parting.ts';
import { closeUpAt } from '../../../../core/replay/closeUp.ts';
import { closeUpBetween, sampleCloseUps } from '../../../../core/replay/film/closeUps.ts';
import { study } from '../../../assets/demos.ts';

describe.each(['heavy', 'small'])("the film's close-ups of %s", (name) => {
  const compiled = compileStudy(study(name));
  const values = startValues(compiled);
  const views = sampleCloseUps(compiled, values, 'upper');
  if (views === null) throw new Error('there are none');
  const pushed = compileStudy(withPushedParting(compiled.study, 'upper'));
  const record = recordFlight(pushed, values);
  const parting = workOutParting(pushed, record, 'upper', { longest_s: 6, far_m: 160 });

  it('lie within a centimetre of the parting at any time between two of them', () => {
    let worst = 0;
    for (let t = views.release_s; t <= views.end_s; t += 0.0137) {
      const exact = closeUpAt(pushed, record, parting, null, t);
      const here = closeUpBetween(views, t);
      worst = Math.max(worst, Math.abs(here.gap_m - exact.gap_m));
      here.lower[0]!.outline.forEach(([x, y], i) => {
        const [x0, y0] = exact.lower[0]!.outline[i]!;
        worst = Math.max(worst, Math.hypot(x - x0, y - y0));
      });
    }
    // Half of 20 m/s² over the square of half a step of 50 ms is 6 mm; a pixel of the picture is some 100 mm.
    expect(worst).toBeLessThan(0.01);
  });

  it('stand joined before release, and open after it', () => {
    expect(closeUpBetween(views, views.release_s - 5).gap_m).toBeCloseTo(0, 9);
    const gaps = views.views.map((view) => view.gap_m);
    expect(gaps.at(-1)!).toBeGreaterThan(2);
    for (let i = 1; i < gaps.length; i++) expect(gaps[i]!).toBeGreaterThan(gaps[i - 1]! - 1e-9);
  });
});

describe('a study that says too little for a picture', () => {
  it('has none', () => {
    const { study: plain } = compileStudy(study('small'));
    const bodies = Object.fromEntries(
      Object.entries(plain.vehicle.bodies).map(([id, body]) => {
        const { shape: _, tanks: __, ...rest } = body;
        return [id, { ...rest, tanks: {} }];
      }),
    );
    const compiled = compileStudy({ ...plain, vehicle: { ...plain.vehicle, bodies } });
    expect(sampleCloseUps(compiled, startValues(compiled), 'upper')).toBeNull();
  });
});
