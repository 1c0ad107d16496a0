/** Keys of the whole window. Typed fields keep their own. */
import type { Session, ViewName } from '../state/session.svelte.ts';

/** Smallest step of time by key, s; with shift a second. */
const STEP_s = 0.1;

/** Views without a playhead: there the arrows and the space bar scroll. */
const STILL: readonly ViewName[] = ['question', 'staging', 'assumptions', 'evidence', 'brief'];

export const hasPlayhead = (view: ViewName): boolean => !STILL.includes(view);

export function handleKey(event: KeyboardEvent, session: Session): void {
  const target = event.target as HTMLElement | null;
  const command = event.ctrlKey || event.metaKey;
  if (command && event.key.toLowerCase() === 'z') {
    event.preventDefault();
    if (event.shiftKey) session.redo();
    else session.undo();
    return;
  }
  if (command && event.key.toLowerCase() === 'y') {
    event.preventDefault();
    session.redo();
    return;
  }
  if (command && event.key.toLowerCase() === 's') {
    event.preventDefault();
    session.wantSave(event.shiftKey);
    return;
  }
  if (command && event.key.toLowerCase() === 'o') {
    event.preventDefault();
    session.wantOpen();
    return;
  }
  if (command || event.altKey) return;
  if (target !== null && ['INPUT', 'SELECT', 'TEXTAREA'].includes(target.tagName)) return;
  if (session.view === 'brief') {
    handleBriefKey(event, session);
    return;
  }
  if (!hasPlayhead(session.view)) return;
  const playback = session.view === 'film' ? session.film.playback : session.playback;
  switch (event.key) {
    case ' ':
      // A focused button takes the space bar for itself.
      if (target?.tagName === 'BUTTON') return;
      playback.toggle();
      break;
    case 'ArrowLeft':
      playback.seek(playback.time_s - (event.shiftKey ? 1 : STEP_s));
      break;
    case 'ArrowRight':
      playback.seek(playback.time_s + (event.shiftKey ? 1 : STEP_s));
      break;
    case 'ArrowUp':
      playback.changeRate(1);
      break;
    case 'ArrowDown':
      playback.changeRate(-1);
      break;
    case 'Home':
      playback.seek(playback.start_s);
      break;
    case 'End':
      playback.seek(playback.end_s);
      break;
    case ',':
      session.toKnot(-1);
      break;
    case '.':
      session.toKnot(1);
      break;
    default:
      return;
  }
  event.preventDefault();
}

/** A presenter's keys: arrows and page keys turn the page, the space bar plays. */
function handleBriefKey(event: KeyboardEvent, { brief }: Session): void {
  switch (event.key) {
    case 'ArrowRight':
    case 'PageDown':
      brief.turn(1);
      break;
    case 'ArrowLeft':
    case 'PageUp':
      brief.turn(-1);
      break;
    case 'Home':
      brief.turn(-brief.pages);
      break;
    case 'End':
      brief.turn(brief.pages);
      break;
    case ' ':
      // A focused button takes the space bar for itself.
      if ((event.target as HTMLElement | null)?.tagName === 'BUTTON') return;
      brief.playback.toggle();
      break;
    default:
      return;
  }
  event.preventDefault();
}
