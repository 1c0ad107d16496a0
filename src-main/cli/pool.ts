/** Threads that work on pieces of one computation; what comes out does not depend on how many there are. */
import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import type * as compute from './compute.ts';

type Work = typeof compute;
export type WorkName = keyof Work;
export type TaskOf<Name extends WorkName> = Parameters<Work[Name]>[0];
export type ResultOf<Name extends WorkName> = ReturnType<Work[Name]>;

export interface Pool {
  readonly threads: number;
  readonly run: <Name extends WorkName>(name: Name, task: TaskOf<Name>) => Promise<ResultOf<Name>>;
  readonly close: () => Promise<void>;
}

/** Opens a pool of so many threads; the command's own thread where the built file for threads is not there, or for one. */
export async function openPool(threads: number): Promise<Pool> {
  const filename = join(import.meta.dirname, 'compute.js');
  if (threads > 1 && existsSync(filename)) {
    const { Tinypool } = await import('tinypool');
    const pool = new Tinypool({ filename, minThreads: threads, maxThreads: threads, idleTimeout: 60_000 });
    return {
      threads,
      run: (name, task) => pool.run(task, { name }) as Promise<never>,
      close: () => pool.destroy(),
    };
  }
  const work: Work = await import('./compute.ts');
  return {
    threads: 1,
    run: async (name, task) => {
      // Lets a waiting interruption in.
      await new Promise((resume) => setImmediate(resume));
      return (work[name] as (task: unknown) => never)(task);
    },
    close: () => Promise.resolve(),
  };
}

/** As many threads as the machine has processors. */
export function defaultThreads(): number {
  return availableParallelism();
}

/**
 * Runs tasks on a pool, each as soon as a thread is free, and hands over each result as it comes. Ends early, between two
 * tasks, when `stop` comes true: what was begun is still handed over.
 */
export async function runAll<Name extends WorkName>(
  pool: Pool,
  name: Name,
  tasks: Iterable<TaskOf<Name>>,
  stop: () => boolean,
  take: (result: ResultOf<Name>) => void | Promise<void>,
): Promise<void> {
  const iterator = tasks[Symbol.iterator]();
  const lane = async (): Promise<void> => {
    while (!stop()) {
      const next = iterator.next();
      if (next.done === true) return;
      await take(await pool.run(name, next.value));
    }
  };
  await Promise.all(Array.from({ length: pool.threads }, lane));
}
