/** The whole trial, built and started by `run.mjs`: judges a row of seeds, prints the counts and the failing seeds. */
import { judge, type Verdict } from './judge.ts';

const [first = 1, count = 1000] = process.argv.slice(2).map(Number);
const GOOD: readonly Verdict[] = ['optimum', 'infeasible'];

const counts = new Map<Verdict, number>();
const failing: number[] = [];
let flights = 0;
for (let seed = first; seed < first + count; seed++) {
  const judged = judge(seed);
  flights += judged.flights;
  counts.set(judged.verdict, (counts.get(judged.verdict) ?? 0) + 1);
  if (!GOOD.includes(judged.verdict)) {
    failing.push(seed);
    process.stdout.write(
      `seed ${seed}: ${judged.verdict}, ${judged.payload_kg.toFixed(3)} kg: ${judged.detail}\n`,
    );
  }
}
const lines = [...counts].sort().map(([verdict, n]) => `${verdict.padEnd(28)}${String(n).padStart(6)}`);
process.stdout.write(
  `${lines.join('\n')}\n${'flights a cold solve'.padEnd(28)}${(flights / count).toFixed(0).padStart(6)}\n`,
);
process.stdout.write(`failing seeds: ${failing.length === 0 ? 'none' : failing.join(', ')}\n`);
const unsolved = counts.get('not solved') ?? 0;
process.exitCode = failing.length > unsolved || unsolved > 0.01 * count ? 1 : 0;
