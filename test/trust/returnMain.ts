/** The whole trial of flights home, built and started by `run.mjs`: judges every n-th variation, prints counts and what fails. */
import { judgeReturn, type ReturnVerdict } from './returnJudge.ts';
import { returnVariations } from './returnPlans.ts';

const [first = 1, count = 1000, every = 1] = process.argv.slice(2).map(Number);
const GOOD: readonly ReturnVerdict[] = ['optimum', 'limits out of reach', 'edge out of reach', 'refused'];

const counts = new Map<ReturnVerdict, number>();
let failing = 0;
let judgedCount = 0;
const all = returnVariations();
for (let i = first - 1; i < Math.min(all.length, first - 1 + count); i += every) {
  const variation = all[i]!;
  const judged = judgeReturn(variation, i + 1);
  judgedCount += 1;
  counts.set(judged.verdict, (counts.get(judged.verdict) ?? 0) + 1);
  if (GOOD.includes(judged.verdict)) continue;
  failing += 1;
  process.stdout.write(
    `${i + 1}: ${variation.name}: ${judged.verdict}, ${judged.used_kg.toFixed(0)} kg: ${judged.detail}\n`,
  );
}
const lines = [...counts].sort().map(([verdict, n]) => `${verdict.padEnd(28)}${String(n).padStart(6)}`);
process.stdout.write(`${lines.join('\n')}\n`);
const unsolved = counts.get('not solved') ?? 0;
process.exitCode = failing > unsolved || unsolved > 0.02 * judgedCount ? 1 : 0;
