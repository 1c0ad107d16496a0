/** What the command hands to the window that it opens for a film, and hears from it. */
import type { FilmJob, FilmReport } from '../../core/contract/filmChannels.ts';

export interface FilmDesk {
  readonly job: Omit<FilmJob, 'file'>;
  /** Path of the film. */
  readonly out: string;
  /** Told how it goes; false calls it off. */
  readonly report: (report: FilmReport) => boolean;
}
