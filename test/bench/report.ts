/** The measurements as text for people. */
import type { Report, StudyReport, TaskReport } from './reportTypes.ts';

const milliseconds = (ms: number): string =>
  ms >= 100 ? ms.toFixed(0) : ms >= 1 ? ms.toFixed(2) : ms.toFixed(4);

/** The whole report, lines joined; times in ms. */
export function printReport(report: Report): string {
  const { node, processor, load } = report.machine;
  const lines = [
    `Node ${node} on ${processor}; load ${load.toFixed(1)}. Times in ms: median and shortest of ${report.rounds} rounds, all tasks in turn.`,
  ];
  for (const study of report.studies) lines.push('', ...printStudy(study));
  return `${lines.join('\n')}\n`;
}

function printStudy(study: StudyReport): string[] {
  const lines = [study.title];
  const rows = study.tasks.map(taskCells);
  lines.push(...table([['', 'median', 'shortest', 'against C', 'aim', 'counts'], ...rows]));
  lines.push(`  compile and solve, the first time: ${milliseconds(study.firstSolve_ms)}`);
  lines.push('', 'Garbage');
  for (const { name, perCall_B } of study.heap) {
    lines.push(
      `  ${name}: ${perCall_B === null ? 'not measured' : `${perCall_B.toFixed(0)} bytes a flight`}`,
    );
  }
  lines.push('', 'The same flight elsewhere');
  lines.push(
    ...table([
      ['', 'median', 'shortest', 'right-hand sides', 'steps', 'end differs by'],
      ...study.references.map((reference) =>
        reference.measured
          ? [
              reference.name,
              milliseconds(reference.times.median_ms),
              milliseconds(reference.times.min_ms),
              String(reference.rightHandSides),
              `${reference.acceptedSteps} + ${reference.rejectedSteps} rejected`,
              `${reference.position_m.toExponential(1)} m, ${reference.speed_mps.toExponential(1)} m/s`,
            ]
          : [reference.name, `not measured: ${reference.reason}`],
      ),
    ]),
  );
  return lines;
}

function taskCells(task: TaskReport): string[] {
  const { ratio, aim } = task;
  return [
    task.name,
    milliseconds(task.times.median_ms),
    milliseconds(task.times.min_ms),
    ratio === null ? '' : `${ratio.median.toFixed(2)} (${ratio.min.toFixed(2)})`,
    aim === null ? '' : `${aim.text}: ${aim.met === null ? 'not measured' : aim.met ? 'met' : 'missed'}`,
    Object.entries(task.counts)
      .map(([name, count]) => `${count} ${name}`)
      .join(', '),
  ];
}

/** Columns as wide as their widest cell; the first and the last to the left, the others to the right. */
function table(rows: readonly string[][]): string[] {
  const columns = rows[0]!.length;
  const full = rows.filter((row) => row.length === columns);
  const widths = Array.from({ length: columns }, (_, i) => Math.max(...full.map((row) => row[i]!.length)));
  return rows.map((row) =>
    `  ${row
      .map((cell, i) =>
        i === 0 || i === row.length - 1 ? cell.padEnd(widths[i]!) : cell.padStart(widths[i]!),
      )
      .join('  ')}`.trimEnd(),
  );
}
