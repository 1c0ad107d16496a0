import { expect, it } from 'vitest';
import { compileStudy, startValues } from '../../core/flight/compile.ts';
import { FlightEngine } from '../../core/flight/engine.ts';
import { fitLine, stages } from './stageFamily.ts';

it('costs right-hand sides in proportion to the stages that are flown', () => {
  const points = [1, 2, 3, 4, 6, 8].map((count) => {
    const compiled = compileStudy(stages(count));
    const engine = new FlightEngine(compiled);
    expect(engine.fly(startValues(compiled))).toBe('flown');
    return [count, engine.driver.stepper.evaluations] as const;
  });
  const { slope, determination } = fitLine(points);
  console.log(
    `right-hand sides a stage: ${slope.toFixed(1)}, of the scatter explained: ${determination.toFixed(4)}`,
  );
  // The first stage flies through the dense air, the others do not: all but a few per cent is the line's.
  expect(determination).toBeGreaterThan(0.95);
  expect(points.at(-1)![1]).toBeLessThan(8 * points[0]![1]);
});
