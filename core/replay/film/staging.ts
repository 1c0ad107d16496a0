/** The staging that a film tells of: the parting that belongs to the study's gap. */
import type { Study } from '../../contract/study.ts';
import type { LogEntry } from '../../flight/log.ts';

export interface FilmStaging {
  /** The event that undoes the link, and the body whose link it is: what flies on. */
  readonly event: string;
  readonly link: string;
  /** Mission time of the parting, s. */
  readonly parting_s: number;
  /** The body that is lit after the gap; the one with the payload where there is no gap. */
  readonly lit: string;
}

/**
 * The parting nearest to the gap between last cut-off and ignition; without a gap, the one that sets the body with the payload
 * free. Null where the flight has none. Mission time in s.
 */
export function filmStaging(study: Study, log: readonly LogEntry[]): FilmStaging | null {
  const { events } = study.sequence;
  const time_s = (id: string): number => log.find((entry) => entry.id === id)?.time_s ?? Number.NaN;
  const partings = events.flatMap(({ id, action }) =>
    action.kind === 'part' && !Number.isNaN(time_s(id))
      ? [{ event: id, link: action.link, parting_s: time_s(id) }]
      : [],
  );
  const gap = events.find(({ trigger }) => trigger.kind === 'gap');
  if (gap?.trigger.kind === 'gap') {
    const ends = [time_s(gap.id), time_s(gap.trigger.cutoff)].sort((p, q) => p - q);
    const [from_s = Number.NaN, to_s = Number.NaN] = ends;
    /** How far a parting lies outside the gap; within it, what is let go first is the stage. */
    const away_s = (t_s: number): number => Math.max(0, from_s - t_s, t_s - to_s);
    const near = partings.filter(({ parting_s }) => away_s(parting_s) < 30);
    const lit = gap.action.kind === 'light' ? gap.action.body : study.payload.ridesOn;
    const best = near.sort(
      (p, q) => away_s(p.parting_s) - away_s(q.parting_s) || p.parting_s - q.parting_s,
    )[0];
    if (best !== undefined) return { ...best, lit };
  }
  const own = partings.find(({ link }) => link === study.payload.ridesOn);
  return own === undefined ? null : { ...own, lit: study.payload.ridesOn };
}
