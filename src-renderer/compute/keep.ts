/**
 * Spreads that are under way or done, kept by the browser so that a reload of the page goes on where it was: the plan and the
 * tally of its members, by the plan's identity, which holds the inputs' hash. A browser that keeps nothing costs the work
 * done before a reload and nothing else; `complaint` then says why.
 */
import type { SpreadPart } from '../../core/study/spread/part.ts';
import type { SpreadPlan } from '../../core/study/spread/plan.ts';

export interface KeptSpread {
  readonly identity: string;
  readonly plan: SpreadPlan;
  readonly part: SpreadPart;
  /** Members that were asked for; those of a stopped spread are what it has. */
  readonly wanted: number;
  readonly kept_ms: number;
}

const DATABASE = 'plumeline';
const STORE = 'spreads';
/** Bump when plan or part change their shape: what was kept before is then dropped. */
const VERSION = 1;
/** The oldest beyond these go. */
const MOST_KEPT = 8;

function settled<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error ?? new Error('the browser keeps nothing'));
  });
}

export class SpreadKeeper {
  complaint = '';
  private readonly known = new Map<string, KeptSpread>();
  private opened: Promise<IDBDatabase | null> | null = null;

  /** Reads what an earlier page has left; once. */
  async open(): Promise<void> {
    this.opened ??= this.connect();
    await this.opened;
  }

  find(identity: string): KeptSpread | undefined {
    return this.known.get(identity);
  }

  async keep(spread: KeptSpread): Promise<void> {
    this.known.set(spread.identity, spread);
    const database = await this.opened;
    if (database == null) return;
    try {
      const store = database.transaction(STORE, 'readwrite').objectStore(STORE);
      await settled(store.put(spread));
      const all = [...this.known.values()].sort((p, q) => q.kept_ms - p.kept_ms);
      for (const { identity } of all.slice(MOST_KEPT)) {
        this.known.delete(identity);
        await settled(store.delete(identity));
      }
    } catch (error) {
      this.complaint = reasonOf(error);
    }
  }

  private async connect(): Promise<IDBDatabase | null> {
    try {
      const request = indexedDB.open(DATABASE, VERSION);
      request.onupgradeneeded = () => {
        const { result } = request;
        if (result.objectStoreNames.contains(STORE)) result.deleteObjectStore(STORE);
        result.createObjectStore(STORE, { keyPath: 'identity' });
      };
      const database = await settled(request);
      const reading = database.transaction(STORE).objectStore(STORE).getAll() as IDBRequest<KeptSpread[]>;
      const all = await settled(reading);
      for (const spread of all) this.known.set(spread.identity, spread);
      return database;
    } catch (error) {
      this.complaint = reasonOf(error);
      return null;
    }
  }
}

function reasonOf(error: unknown): string {
  return `The browser keeps nothing, so a reload begins the draws again: ${error instanceof Error ? error.message : String(error)}`;
}
