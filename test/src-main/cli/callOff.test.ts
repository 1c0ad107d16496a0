import { describe, expect, it, vi } from 'vitest';
import { CallOff } from '../../../src-main/cli/callOff.ts';
import { Progress } from '../../../src-main/cli/progress.ts';
import type { Terminal } from '../../../src-main/cli/terminal.ts';

function terminal(interrupted: () => boolean, now_ms: () => number, err: (text: string) => void): Terminal {
  return { out: () => undefined, err, bar: null, colour: false, demosFolder: '', now_ms, interrupted };
}

/** Runs a call-off over so much of a made-up clock, pressed after a second; when it ended the work, ms. */
function endedAt(begun: boolean, span_ms: number): number | null {
  vi.useFakeTimers();
  const start = Date.now();
  const now = (): number => Date.now() - start;
  const callOff = new CallOff(
    terminal(
      () => now() >= 1000,
      now,
      () => undefined,
    ),
  );
  let ended: number | null = null;
  callOff.watch(
    () => begun,
    5000,
    () => (ended = now()),
  );
  vi.advanceTimersByTime(span_ms);
  callOff.close();
  vi.useRealTimers();
  return ended;
}

describe('work that is called off', () => {
  it('goes on until then, ends at once while nothing has begun, and is waited for where something has', () => {
    expect(endedAt(false, 900)).toBeNull();
    expect(endedAt(false, 20_000)).toBe(1000);
    expect(endedAt(true, 5900)).toBeNull();
    expect(endedAt(true, 20_000)).toBe(6000);
  });

  it('hears a system that wants it to end, and leaves no ear behind', () => {
    const before = process.listenerCount('SIGTERM');
    const callOff = new CallOff(
      terminal(
        () => false,
        () => 0,
        () => undefined,
      ),
    );
    expect(callOff.called()).toBe(false);
    process.emit('SIGTERM');
    expect(callOff.called()).toBe(true);
    callOff.close();
    expect(process.listenerCount('SIGTERM')).toBe(before);
  });
});

it('a time left that is known better is told instead of the one by the time since the beginning', () => {
  let said = '';
  let now_ms = 0;
  const progress = new Progress(
    terminal(
      () => false,
      () => now_ms,
      (text) => (said += text),
    ),
    'pictures',
  );
  now_ms = 60_000;
  // A minute went by before the first picture; the pictures themselves take 0.1 s each.
  progress.update(1, 301, 30_000);
  expect(said).toBe('plumeline: 1 of 301 pictures, about 30 s left\n');
  now_ms = 120_000;
  progress.update(2, 4);
  expect(said).toMatch(/2 of 4 pictures, about 2 min left\n$/);
});
