import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { History } from '../../../src-renderer/state/history.ts';

interface Sheet {
  gap: number;
  list: number[];
}

const sheet = (): Sheet => ({ gap: 0, list: [] });

describe('History', () => {
  it('takes changes back and makes them again, naming each', () => {
    const history = new History(sheet());
    history.change('first', (draft) => void (draft.gap = 1));
    history.change('second', (draft) => void draft.list.push(7));
    expect(history.undoLabel).toBe('second');
    expect(history.undo()).toBe('second');
    expect(history.document).toEqual({ gap: 1, list: [] });
    expect(history.redoLabel).toBe('second');
    expect(history.redo()).toBe('second');
    expect(history.document).toEqual({ gap: 1, list: [7] });
    expect(history.redo()).toBeNull();
  });

  it('joins a run of changes with one mark into one entry, until the hand lets go', () => {
    const history = new History(sheet());
    for (const gap of [1, 2, 3]) history.change('drag', (draft) => void (draft.gap = gap), 'gap');
    history.settle();
    history.change('drag', (draft) => void (draft.gap = 9), 'gap');
    history.undo();
    expect(history.document.gap).toBe(3);
    history.undo();
    expect(history.document.gap).toBe(0);
    expect(history.undo()).toBeNull();
  });

  it('keeps no entry for a change that changes nothing, and leaves the old document untouched', () => {
    const history = new History(sheet());
    const before = history.document;
    expect(history.change('nothing', (draft) => void (draft.gap = 0))).toBe(false);
    expect(history.undoLabel).toBeNull();
    history.change('something', (draft) => void (draft.gap = 4));
    expect(before.gap).toBe(0);
  });

  it('is dirty exactly when it differs from what was saved', () => {
    const history = new History(sheet());
    expect(history.dirty).toBe(false);
    history.change('a', (draft) => void (draft.gap = 1), 'gap');
    history.markSaved();
    expect(history.dirty).toBe(false);
    history.change('a', (draft) => void (draft.gap = 2), 'gap');
    expect(history.dirty).toBe(true);
    history.undo();
    expect(history.dirty).toBe(false);
    history.undo();
    expect(history.dirty).toBe(true);
    history.redo();
    expect(history.dirty).toBe(false);
  });

  it('comes back to every earlier document, whatever is changed, undone and done again', () => {
    const step = fc.oneof(
      fc.record({ kind: fc.constant('set' as const), value: fc.integer() }),
      fc.record({ kind: fc.constant('push' as const), value: fc.integer() }),
      fc.record({ kind: fc.constant('undo' as const), value: fc.constant(0) }),
      fc.record({ kind: fc.constant('redo' as const), value: fc.constant(0) }),
    );
    fc.assert(
      fc.property(fc.array(step, { maxLength: 40 }), (steps) => {
        const history = new History(sheet());
        // The plain model: a list of documents and a place in it.
        let documents: Sheet[] = [sheet()];
        let place = 0;
        for (const { kind, value } of steps) {
          if (kind === 'undo') {
            history.undo();
            place = Math.max(0, place - 1);
          } else if (kind === 'redo') {
            history.redo();
            place = Math.min(documents.length - 1, place + 1);
          } else {
            const now = structuredClone(documents[place]!);
            if (kind === 'set') now.gap = value;
            else now.list.push(value);
            const changed = history.change(kind, (draft) => {
              if (kind === 'set') draft.gap = value;
              else draft.list.push(value);
            });
            if (changed) {
              documents = [...documents.slice(0, place + 1), now];
              place += 1;
            }
          }
          expect(history.document).toEqual(documents[place]);
        }
      }),
      { seed: 11, numRuns: 200 },
    );
  });
});
