/**
 * Undo and redo as patches of the document alone. View state and results stay out, so undoing never moves the picture.
 * Changes with the same mark that follow one another (a slider being dragged) undo as one.
 */
import { apply, create, type Patches } from 'mutative';

interface Entry {
  readonly label: string;
  readonly mark: string | null;
  readonly forward: Patches;
  readonly back: Patches;
}

export class History<T extends object> {
  private past: Entry[] = [];
  private future: Entry[] = [];
  private saved: Entry | null = null;

  constructor(public document: T) {}

  /**
   * Changes the document by a recipe that edits a draft. `label` names the change for people; with a `mark` it joins the
   * change before it when that had the same mark. False when the recipe changed nothing.
   */
  change(label: string, recipe: (draft: T) => void, mark: string | null = null): boolean {
    const [document, forward, back] = create(this.document, (draft) => recipe(draft as T), {
      enablePatches: true,
    });
    if (forward.length === 0) return false;
    const last = this.past[this.past.length - 1];
    const joins = mark !== null && last?.mark === mark && this.future.length === 0 && last !== this.saved;
    const entry: Entry = joins
      ? { label, mark, forward: [...last.forward, ...forward], back: [...back, ...last.back] }
      : { label, mark, forward, back };
    this.past = joins ? [...this.past.slice(0, -1), entry] : [...this.past, entry];
    this.future = [];
    this.document = document;
    return true;
  }

  /** Ends a run of joined changes: the next one with the same mark is an entry of its own. */
  settle(): void {
    const last = this.past[this.past.length - 1];
    if (last?.mark != null) {
      const settled = { ...last, mark: null };
      if (this.saved === last) this.saved = settled;
      this.past = [...this.past.slice(0, -1), settled];
    }
  }

  /** Takes the last change back; returns its label, null when there is none. */
  undo(): string | null {
    const entry = this.past[this.past.length - 1];
    if (entry === undefined) return null;
    this.document = apply<T>(this.document, entry.back);
    this.past = this.past.slice(0, -1);
    this.future = [entry, ...this.future];
    return entry.label;
  }

  /** Makes the last change taken back again; returns its label, null when there is none. */
  redo(): string | null {
    const [entry, ...rest] = this.future;
    if (entry === undefined) return null;
    this.document = apply<T>(this.document, entry.forward);
    this.past = [...this.past, entry];
    this.future = rest;
    return entry.label;
  }

  get undoLabel(): string | null {
    return this.past[this.past.length - 1]?.label ?? null;
  }

  get redoLabel(): string | null {
    return this.future[0]?.label ?? null;
  }

  /** The document as it is now counts as saved. */
  markSaved(): void {
    this.settle();
    this.saved = this.past[this.past.length - 1] ?? null;
  }

  /** Whether the document differs from what was saved (or opened) last. */
  get dirty(): boolean {
    return (this.past[this.past.length - 1] ?? null) !== this.saved;
  }
}
