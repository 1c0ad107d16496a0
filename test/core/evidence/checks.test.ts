import { describe, expect, it } from 'vitest';
import { listChecks } from '../../../core/evidence/checks.ts';
import { checkReportedFlight } from '../../../core/evidence/reported/reportedFlight.ts';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { fitInsertion } from '../../../core/solve/insertionFit.ts';
import { published } from '../../published/index.ts';

/** Share of its tolerance that a row uses up. */
const used = (deviation: number, [low, high]: readonly [number, number]): number =>
  deviation < 0 ? deviation / low : high === 0 ? 0 : deviation / high;

const checks = listChecks(published);

describe('published checks', () => {
  it.each(checks.map((check) => [check.id, check] as const))('%s: every row holds', (_id, check) => {
    const { rows } = check.run();
    expect(rows.length).toBeGreaterThan(0);
    const scored = rows.filter((row) => row.verdict === 'holds' || row.verdict === 'fails');
    expect(scored.length).toBeGreaterThan(0);
    const worst = scored.reduce((a, b) =>
      used(b.deviation, b.tolerance) > used(a.deviation, a.tolerance) ? b : a,
    );
    console.log(
      `${check.id}: ${scored.length} rows, worst ${worst.quantity}: ${worst.deviation.toPrecision(3)} ${worst.unit} ` +
        `of ${worst.tolerance.map((each) => each.toPrecision(3)).join(' to ')}`,
    );
    for (const row of rows) {
      expect(
        row.verdict,
        `${row.quantity}: ${row.published} published, ${row.ours} ours, ${row.deviation}`,
      ).not.toBe('fails');
      // A tolerance without a reason, and a number without a source, is no check.
      expect(row.why.length, row.quantity).toBeGreaterThan(5);
      expect(row.source.length, row.quantity).toBeGreaterThan(5);
      expect(row.status.length, row.quantity).toBeGreaterThan(5);
    }
  });
});

describe('the reflown flight', () => {
  const { study, report } = published.reportedFlights[0]!;
  const compiled = compileStudy(study);
  const stored = startValues(compiled);

  it('adjusts four numbers of steering and nothing else, and the file holds them', () => {
    expect(report.fit.paths).toHaveLength(4);
    expect(report.fit.paths.every((path) => path.includes('.action.law.'))).toBe(true);
    const { fitted } = checks[0]!.run();
    for (const { path, value } of fitted) {
      const parameter = compiled.parameters.find((each) => each.path === path)!;
      // Where the least propellant lies is known to about the root of how well its amount is.
      expect(value * parameter.perUnit, path).toBeCloseTo(parameter.value, 6);
    }
  });

  it('is drawn as it is scored: each point of a chart has the deviation and the tolerance of its row', () => {
    const { charts, rows } = checks[0]!.run();
    expect(charts.map((chart) => chart.title)).toHaveLength(6);
    const quantities = [
      ...['height', 'space-fixed speed', 'flight-path angle', 'range', 'mass'],
      'greatest sensed acceleration',
    ];
    let scored = 0;
    charts.forEach((chart, i) => {
      const scale = { km: 1000, t: 1000 }[chart.unit] ?? 1;
      for (const point of chart.points) {
        const row = rows.find((each) => each.quantity === `${quantities[i]!}, ${point.name}`)!;
        expect(scale * (point.ours - point.theirs)).toBeCloseTo(row.deviation, 6);
        expect(scale * point.span![0]).toBeCloseTo(row.band?.[0] ?? scale * point.span![0], 6);
        if (row.verdict === 'given') expect(point.tolerance).toBeNull();
        else
          row.tolerance.forEach((each, k) => {
            expect(scale * point.tolerance![k]!).toBeCloseTo(each, 6);
          });
        scored += row.verdict === 'given' ? 0 : 1;
      }
    });
    expect(scored).toBeGreaterThan(30);
  });

  it('comes to the same fit from far away', () => {
    const start = Float64Array.from(stored);
    start.set([0.0293, 0.3, -0.0007, 0], 2);
    const near = fitInsertion(compiled, report.fit.paths, report.insertion, stored);
    const far = fitInsertion(compiled, report.fit.paths, report.insertion, start);
    expect([near.status, far.status]).toEqual(['fitted', 'fitted']);
    expect(Math.abs(far.insertion_s - near.insertion_s)).toBeLessThan(1e-5);
  });

  it('takes nothing from the report but the insertion into its fit: other events may be anything', () => {
    const outcome = checks[0]!.run();
    const blind = checkReportedFlight('blind', 'blind', study, {
      ...report,
      states: report.states.map((state) => ({
        ...state,
        height_m: 1,
        speed_mps: 1,
        flightPathAngle_deg: 45,
      })),
    });
    expect(blind.fitted).toEqual(outcome.fitted);
    expect(blind.rows.filter((row) => row.verdict === 'fails').length).toBeGreaterThan(15);
  });
});
