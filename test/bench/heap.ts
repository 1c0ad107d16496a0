/** How much garbage a call leaves: growth of the heap over many calls with no collection in between. */
import { constants, PerformanceObserver } from 'node:perf_hooks';
import { setImmediate } from 'node:timers/promises';

export interface Growth {
  /** Bytes a call, the median of several rows of calls. */
  readonly perCall_B: number;
  readonly calls: number;
}

const ROWS = 7;
const WARM_CALLS = 150;

interface GcEntry extends PerformanceEntry {
  readonly detail: { readonly flags: number };
}

/** The collector on demand; Node must have been started with --expose-gc. */
function collector(): () => void {
  const { gc } = globalThis as { gc?: () => void };
  if (gc === undefined) throw new Error('heap growth wants Node started with --expose-gc');
  return gc;
}

/**
 * Growth of the heap a call, in bytes. A row during which the collector ran by itself says nothing and is dropped; null
 * when every row was.
 */
export async function heapGrowth(calls: number, call: () => void): Promise<Growth | null> {
  const collect = collector();
  let collections = 0;
  const observer = new PerformanceObserver((list) => {
    // Those asked for below do not count.
    const own = (entry: PerformanceEntry): boolean =>
      ((entry as GcEntry).detail.flags & constants.NODE_PERFORMANCE_GC_FLAGS_FORCED) === 0;
    collections += list.getEntries().filter(own).length;
  });
  observer.observe({ entryTypes: ['gc'] });
  const rows: number[] = [];
  for (let row = 0; row < ROWS; row++) {
    collect();
    // The collector throws away compiled code too: let it come back, or what the interpreter boxes is counted.
    for (let i = 0; i < WARM_CALLS; i++) call();
    // The observer hears of a collection a turn later.
    await setImmediate();
    await setImmediate();
    collections = 0;
    const before = process.memoryUsage().heapUsed;
    for (let i = 0; i < calls; i++) call();
    const after = process.memoryUsage().heapUsed;
    await setImmediate();
    await setImmediate();
    if (collections === 0) rows.push((after - before) / calls);
  }
  observer.disconnect();
  if (rows.length === 0) return null;
  rows.sort((a, b) => a - b);
  return { perCall_B: Math.max(0, rows[rows.length >> 1]!), calls };
}
