// `npm run bench:parallel`: a map and a paired spread of the heavy demo by the built command, on one thread and on two. Says
// what they take, how well the second thread is used, and whether both write the same bytes.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { buildIfStale, ROOT } from '../../src-main/launch/setup.mjs';

const GAP = 'sequence.events.ignition.trigger.gap_s';
const WORK = [
  {
    name: 'map of 25 × 25 points',
    solves: 625,
    aim_s: 5,
    args: ['map', 'heavy', '--x', `${GAP}=0:24`, '--y', 'vehicle.bodies.upper.dryMass_kg=40 t:52 t', '--csv'],
  },
  {
    name: 'spread of 1000 members, 2 cases',
    solves: 2000,
    aim_s: 10,
    args: ['spread', 'heavy', '--gaps', '10,-1.5', '--members', '1000'],
  },
];

await buildIfStale(() => undefined);
const folder = mkdtempSync(join(tmpdir(), 'plumeline-bench-'));
try {
  for (const { name, solves, aim_s, args } of WORK) {
    const one = run(args, 1, solves);
    const two = run(args, 2, solves);
    const efficiency = one.wall_s / (2 * two.wall_s);
    process.stdout.write(
      `${name}: ${one.wall_s.toFixed(1)} s on one thread, ${two.wall_s.toFixed(1)} s on two (aim ${aim_s} s, ` +
        `${two.wall_s <= aim_s ? 'met' : 'not met'}); parallel efficiency ${(100 * efficiency).toFixed(0)} %; ` +
        `${solves} solves, ${((1000 * one.wall_s) / solves).toFixed(1)} ms each on one; ` +
        `${one.bytes.equals(two.bytes) ? 'the same bytes' : 'DIFFERENT BYTES'}; load ${loadavg()
          .map((load) => load.toFixed(1))
          .join(' ')}\n`,
    );
    if (!one.bytes.equals(two.bytes)) process.exitCode = 1;
  }
} finally {
  rmSync(folder, { recursive: true });
}

/**
 * @param {readonly string[]} args
 * @param {number} threads
 * @param {number} solves
 */
function run(args, threads, solves) {
  const out = join(folder, `${solves}-${threads}`);
  const start = performance.now();
  const all = [join(ROOT, 'out/main/cli.js'), ...args, '--threads', String(threads), '--out', out];
  const { status, stderr } = spawnSync(process.execPath, all, { encoding: 'utf8' });
  if (status !== 0) throw new Error(`exit ${String(status)}: ${stderr}`);
  return { wall_s: (performance.now() - start) / 1000, bytes: readFileSync(out) };
}
