/** The published numbers for the window, which may not carry them itself: read when they are first asked for. */
import type { Response } from '../../core/contract/channels.ts';

export async function readPublished(): Promise<Response<'evidence.data'>> {
  const { published } = await import('../../test/published/index.ts');
  const { reportedFlights, separations } = published;
  return { ...published, reportedFlights: [...reportedFlights], separations: [...separations] };
}
