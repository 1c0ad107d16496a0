/**
 * Film time and mission time. The film's clock runs by itself; cues tie its seconds to moments of the flight. Between two
 * cues mission time runs at one pace, eased at the ends where the neighbour's pace differs: the pace at a cue is the slower
 * of its two neighbours', so that a section in real time is in real time from end to end, and a hold stands still.
 */

/** A moment of film time and the mission time that stands then, both s. */
export interface ClockKnot {
  readonly film_s: number;
  readonly mission_s: number;
  /** Mission time stands at the knot before until it jumps here. */
  readonly jump: boolean;
}

/** Mission seconds in one second of film at most; what would be faster is to be jumped over. */
export const FASTEST = 100;
/** Film time over which one pace gives way to another, s; a third of the section where that is shorter. */
const EASE_s = 0.8;

interface Section {
  readonly from_s: number;
  readonly to_s: number;
  readonly start_s: number;
  /** Pace at the first and last instant, and in between. */
  readonly first: number;
  readonly plateau: number;
  readonly last: number;
  readonly ease_s: number;
}

/** Integral of the step 3u² − 2u³ from 0 to u, dimensionless. */
const stepArea = (u: number): number => u * u * u * (1 - 0.5 * u);
const step = (u: number): number => u * u * (3 - 2 * u);

/** The monotone map from film time to mission time, both s; see the top of the file. */
export class FilmClock {
  private readonly sections: Section[] = [];
  readonly knots: readonly ClockKnot[];

  /**
   * From knots in order of film time. Throws RangeError for none, for knots out of order, or for mission time that would run
   * backward; whether it runs too fast is for `fastest`.
   */
  constructor(knots: readonly ClockKnot[]) {
    if (knots.length === 0) throw new RangeError('FilmClock: received no knots, allowed is one or more');
    this.knots = knots;
    const paces = knots.slice(1).map((knot, i) => {
      const before = knots[i]!;
      const film_s = knot.film_s - before.film_s;
      const mission_s = knot.mission_s - before.mission_s;
      if (film_s < 0 || (!knot.jump && !(film_s > 0)) || (!knot.jump && mission_s < 0)) {
        throw new RangeError(
          `FilmClock: received knot ${i + 1} at ${knot.film_s} s of film and ${knot.mission_s} s of mission after ` +
            `${before.film_s} s and ${before.mission_s} s, allowed are later ones`,
        );
      }
      return knot.jump ? 0 : mission_s / film_s;
    });
    // Nothing runs before the first knot of a take or after its last: the pace there is the section's own at the start,
    // and at the film's end zero.
    const at = knots.map((knot, i) => {
      const after = paces[i] ?? 0;
      const before = paces[i - 1];
      return before === undefined || knot.jump ? after : Math.min(before, after);
    });
    knots.slice(1).forEach((knot, i) => {
      const before = knots[i]!;
      const span_s = knot.film_s - before.film_s;
      const ease_s = Math.min(EASE_s, span_s / 3);
      const first = knot.jump ? 0 : at[i]!;
      const last = knot.jump ? 0 : Math.min(at[i + 1]!, paces[i]!);
      const mission_s = knot.jump ? 0 : knot.mission_s - before.mission_s;
      this.sections.push({
        from_s: before.film_s,
        to_s: knot.film_s,
        start_s: before.mission_s,
        first,
        last,
        // Area of the plateau and of two ramps is the mission time that has to pass.
        plateau: span_s > 0 ? (mission_s - 0.5 * ease_s * (first + last)) / (span_s - ease_s) : 0,
        ease_s,
      });
    });
  }

  /** Mission time (s) that stands at a film time (s); held before the first knot and after the last. */
  missionAt_s(film_s: number): number {
    const { knots } = this;
    const section = this.sectionAt(film_s);
    if (section === null) return film_s < knots[0]!.film_s ? knots[0]!.mission_s : knots.at(-1)!.mission_s;
    const { from_s, to_s, start_s, first, plateau, last, ease_s } = section;
    const t = film_s - from_s;
    const rest = to_s - film_s;
    const up = (u: number): number => ease_s * (first * u + (plateau - first) * stepArea(u));
    if (t < ease_s) return start_s + up(t / ease_s);
    const whole = start_s + up(1);
    if (rest >= ease_s) return whole + plateau * (t - ease_s);
    const middle = whole + plateau * (to_s - from_s - 2 * ease_s);
    const u = 1 - rest / ease_s;
    return middle + ease_s * (plateau * u + (last - plateau) * stepArea(u));
  }

  /** The first film time (s) at which a mission time (s) stands or has been passed; the film's last cue beyond. */
  filmAt_s(mission_s: number): number {
    for (const { from_s, to_s } of this.sections) {
      if (this.missionAt_s(from_s) >= mission_s) return from_s;
      // Just before the end: at the end a jump may stand already.
      if (!(this.missionAt_s(to_s - 1e-9) >= mission_s)) continue;
      let low = from_s;
      let high = to_s - 1e-9;
      while (high - low > 1e-6) {
        const middle = 0.5 * (low + high);
        if (this.missionAt_s(middle) >= mission_s) high = middle;
        else low = middle;
      }
      return high;
    }
    return this.knots[this.knots.length - 1]!.film_s;
  }

  /** Mission seconds that pass in a second of film then, dimensionless; zero where it stands. */
  paceAt(film_s: number): number {
    const section = this.sectionAt(film_s);
    if (section === null) return 0;
    const { from_s, to_s, first, plateau, last, ease_s } = section;
    if (film_s - from_s < ease_s) return first + (plateau - first) * step((film_s - from_s) / ease_s);
    if (to_s - film_s < ease_s) return plateau + (last - plateau) * step(1 - (to_s - film_s) / ease_s);
    return plateau;
  }

  /** The greatest pace (dimensionless) and the film time (s) at which its section begins. */
  get fastest(): { pace: number; from_s: number } {
    return this.sections.reduce(
      (most, { plateau, from_s }) => (plateau > most.pace ? { pace: plateau, from_s } : most),
      { pace: 0, from_s: 0 },
    );
  }

  /** The section that a film time lies in: the later one at a knot. Null before the first and after the last. */
  private sectionAt(film_s: number): Section | null {
    for (let i = this.sections.length - 1; i >= 0; i--) {
      const section = this.sections[i]!;
      if (film_s >= section.from_s) return film_s < section.to_s ? section : null;
    }
    return null;
  }
}
