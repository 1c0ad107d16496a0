/** Flights of all studies that stand in the tree, for checks of what is drawn from them. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { loadStudy } from '../../../core/contract/load.ts';
import { compileStudy, startValues } from '../../../core/flight/compile.ts';
import { recordFlight } from '../../../core/flight/record.ts';
import { packFlight } from '../../../core/replay/flightData.ts';
import { solvePayload } from '../../../core/solve/payload.ts';
import { gapEvent, withGap } from '../../../core/study/gap.ts';

const root = join(import.meta.dirname, '../../..');

function read(path: string) {
  const loaded = loadStudy(readFileSync(path, 'utf8'));
  if (!loaded.ok) throw new Error(`${path}: ${loaded.problems.map((p) => p.sentence).join(' ')}`);
  return loaded.study;
}

/** The demos and the reference vehicle. */
export function allStudies(): { name: string; study: ReturnType<typeof read> }[] {
  const demos = join(root, 'assets/demos');
  const files = readdirSync(demos).filter((name) => name.endsWith('.plumeline.json'));
  return [
    { name: 'r1', study: read(join(root, 'test/published/r1/r1.plumeline.json')) },
    ...files.map((name) => ({ name, study: read(join(demos, name)) })),
  ];
}

/** A demo by its name. */
export function demo(name: string): ReturnType<typeof read> {
  return read(join(root, `assets/demos/${name}.plumeline.json`));
}

/** A solved and recorded flight of a study at a gap (s), packed as a worker would send it. */
export function flightOf(study: ReturnType<typeof read>, gap_s: number) {
  const compiled = compileStudy(withGap(study, gapEvent(study), gap_s));
  const outcome = solvePayload(compiled);
  const values = outcome.status === 'converged' ? outcome.values : startValues(compiled);
  const record = recordFlight(compiled, values);
  return { compiled, record, flight: packFlight(record) };
}
