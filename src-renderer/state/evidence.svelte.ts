/** The published checks: their numbers, which the desktop side reads, and the report that the worker makes of them. */
import { documentHash } from '../../core/contract/contentHash.ts';
import { listChecks, type Published } from '../../core/evidence/checks.ts';
import type { Host } from '../bridge/host.ts';
import type { ComputeClient } from '../compute/client.ts';
import { Job } from './job.svelte.ts';

export interface PublishedData {
  readonly published: Published;
  readonly hash: string;
}

export class EvidenceWork {
  data = $state.raw<PublishedData | null>(null);
  /** It is about no study, so it stands whichever one is open. */
  readonly job: Job<'evidence'>;

  constructor(
    private readonly host: Host,
    makeClient: () => ComputeClient,
  ) {
    this.job = new Job('evidence', makeClient);
  }

  /** Runs all checks. Rejects with HostError when the numbers cannot be had. */
  async ask(): Promise<void> {
    if (this.data === null) {
      // The contract has checked the documents; the numbers of each check are as its type in core says.
      const published = (await this.host.request('evidence.data', {})) as Published;
      this.data = { published, hash: documentHash(published) };
    }
    const { published } = this.data;
    await this.job.ask(null, { published }, listChecks(published).length);
  }
}
