/** What a flight costs against the number of stages: counts, and times with the straight line through them. */
import { compileStudy, startValues } from '../../core/flight/compile.ts';
import { SOLVE_ACCURACY } from '../../core/flight/accuracy.ts';
import { FlightEngine } from '../../core/flight/engine.ts';
import { fitLine, stages } from './stageFamily.ts';

const MOST = 8;
const ROUNDS = 15;
const FLIGHTS = 40;

const subjects = Array.from({ length: MOST }, (_, i) => {
  const compiled = compileStudy(stages(i + 1));
  return {
    stages: i + 1,
    engine: new FlightEngine(compiled, SOLVE_ACCURACY),
    values: startValues(compiled),
    best_us: Infinity,
    rightHandSides: 0,
  };
});
for (let round = 0; round < ROUNDS; round++) {
  for (const subject of subjects) {
    const { engine, values } = subject;
    const before = engine.driver.stepper.evaluations;
    const start_ms = performance.now();
    for (let i = 0; i < FLIGHTS; i++) {
      if (engine.fly(values) !== 'flown') throw new Error(engine.status.message);
    }
    subject.best_us = Math.min(subject.best_us, (1000 * (performance.now() - start_ms)) / FLIGHTS);
    subject.rightHandSides = (engine.driver.stepper.evaluations - before) / FLIGHTS;
  }
}
const { stdout } = process;
/** The lines alone, without the table. */
const short = process.argv.includes('short');
if (short) stdout.write(`\none flight against its number of stages, 1 to ${MOST}\n`);
else stdout.write('stages  segments  accepted  shortened  right-hand sides  shortest, µs\n');
for (const { stages: count, engine, best_us, rightHandSides } of short ? [] : subjects) {
  const { acceptedSteps, shortenedSteps } = engine.driver;
  const cells = [
    engine.plan.segments.length,
    acceptedSteps,
    shortenedSteps,
    rightHandSides,
    best_us.toFixed(1),
  ];
  stdout.write(
    `${String(count).padStart(6)}  ${cells.map((cell, i) => String(cell).padStart([8, 8, 9, 16, 12][i]!)).join('  ')}\n`,
  );
}
for (const [name, of] of [
  ['right-hand sides', (s: (typeof subjects)[number]) => s.rightHandSides],
  ['shortest, µs', (s: (typeof subjects)[number]) => s.best_us],
] as const) {
  const line = fitLine(subjects.map((subject) => [subject.stages, of(subject)]));
  const sum = `${line.start.toFixed(1)} and ${line.slope.toFixed(1)} a stage`;
  stdout.write(`${name}: ${sum}, R² ${line.determination.toFixed(4)}\n`);
}
