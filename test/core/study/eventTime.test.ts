import { describe, expect, it } from 'vitest';
import { sequenceSchema } from '../../../core/contract/sequence.ts';
import { compileStudy } from '../../../core/flight/compile.ts';
import { dragStep_s, eventTime, setEventTime } from '../../../core/study/eventTime.ts';
import { event, r1 } from '../flight/studies.ts';

describe('the number that sets an event in time', () => {
  it('is the delay, the lead, the gap or the mission time of its trigger', () => {
    const study = r1((s) => {
      event(s, 'separation').trigger = { kind: 'after', events: ['meco'], delay_s: 3 };
      event(s, 'kick').trigger = { kind: 'before', event: 'meco', lead_s: 100 };
    });
    expect(eventTime(study, 'separation')).toMatchObject({
      path: 'sequence.events.separation.trigger.delay_s',
      value_s: 3,
      sense: 1,
      least_s: 0,
    });
    expect(eventTime(study, 'kick')).toMatchObject({ value_s: 100, sense: -1 });
    expect(eventTime(study, 'ignition')).toMatchObject({ value_s: 0, sense: 1, least_s: -60, most_s: 600 });
    expect(eventTime(study, 'release')).toMatchObject({ path: 'sequence.events.release.trigger.time_s' });
  });

  it('does not exist for what the flight finds', () => {
    expect(eventTime(r1(), 'meco')).toBeNull();
    expect(eventTime(r1(), 'nothing')).toBeNull();
    const study = r1();
    setEventTime(study, 'meco', 12);
    expect(study).toEqual(r1());
  });

  it('moves the planned event by as much as it changes, in its own sense', () => {
    for (const [trigger, sense] of [
      [{ kind: 'after', events: ['meco'], delay_s: 3 }, 1],
      // After the cut-off before which it stands, so that it moves nothing but itself.
      [{ kind: 'before', event: 'seco', lead_s: 30 }, -1],
    ] as const) {
      const make = (): ReturnType<typeof r1> =>
        r1((s) => {
          event(s, 'separation').trigger = trigger as never;
          event(s, 'ignition').trigger = { kind: 'after', events: ['meco'], delay_s: 1 };
        });
      const time = (study: ReturnType<typeof r1>): number =>
        compileStudy(study).plan.eventTimes_s[study.sequence.events.findIndex((e) => e.id === 'separation')]!;
      const earlier = make();
      const later = make();
      const { value_s, sense: said } = eventTime(earlier, 'separation')!;
      expect(said).toBe(sense);
      setEventTime(later, 'separation', value_s + 2);
      // Sums of numbers of some hundred seconds.
      expect(time(later) - time(earlier)).toBeCloseTo(2 * sense, 10);
    }
  });

  it('is kept within what the document allows', () => {
    for (const id of ['kick', 'separation', 'ignition']) {
      const before = eventTime(r1(), id)!;
      for (const value of [-1e9, 1e9]) {
        const study = r1();
        setEventTime(study, id, value);
        expect(sequenceSchema.safeParse(study.sequence).success, `${id} ${value}`).toBe(true);
        expect(eventTime(study, id)!.value_s).toBe(value < 0 ? before.least_s : before.most_s);
      }
    }
  });

  it('is dragged in round steps that a pixel can tell apart', () => {
    expect([0.001, 0.013, 0.03, 0.07, 0.4, 5].map(dragStep_s)).toEqual([0.01, 0.02, 0.05, 0.1, 0.5, 1]);
  });
});
