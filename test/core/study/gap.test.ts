import { describe, expect, it } from 'vitest';
import { GapError, gapEvent, gapOf_s, withGap } from '../../../core/study/gap.ts';
import { event, r1 } from '../flight/studies.ts';

describe('the gap of a study', () => {
  it('is that of the first event whose trigger is one, or of the one named', () => {
    expect(gapEvent(r1())).toBe('ignition');
    expect(gapEvent(r1(), 'ignition')).toBe('ignition');
  });

  it('is refused by name with what is allowed', () => {
    expect(() => gapEvent(r1(), 'seco')).toThrow(GapError);
    expect(() => gapEvent(r1(), 'seco')).toThrow('gap event: received "seco", allowed is ignition');
    const none = r1((study) => {
      event(study, 'ignition').trigger = { kind: 'after', events: ['separation'], delay_s: 1 };
    });
    expect(() => gapEvent(none)).toThrow(/received no event with a "gap" trigger/);
  });

  it('is read, and set in a copy that leaves the study as it was', () => {
    const study = r1();
    const before = JSON.stringify(study);
    const other = withGap(study, 'ignition', -7.5);
    expect(gapOf_s(other, 'ignition')).toBe(-7.5);
    expect(gapOf_s(study, 'ignition')).toBe(0);
    expect(JSON.stringify(study)).toBe(before);
    expect(withGap(other, 'ignition', 0)).toEqual(study);
    expect(other.vehicle).toBe(study.vehicle);
  });

  it('is no number for an event that has none', () => {
    expect(gapOf_s(r1(), 'seco')).toBeNaN();
    expect(gapOf_s(r1(), 'nothing')).toBeNaN();
    // Another event's trigger is left alone.
    expect(withGap(r1(), 'seco', 4)).toEqual(r1());
  });
});
