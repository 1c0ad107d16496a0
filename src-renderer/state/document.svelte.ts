/** The open study: one document in one store, with undo and redo. Everything else in the window follows from it. */
import { loadStudy, saveStudy } from '../../core/contract/load.ts';
import type { Study } from '../../core/contract/study.ts';
import { History } from './history.ts';

export interface OpenFile {
  /** Null while the study has no file of its own: a demo, or never saved. */
  readonly token: string | null;
  readonly name: string;
}

export class DocumentStore {
  study = $state.raw<Study | null>(null);
  file = $state.raw<OpenFile>({ token: null, name: '' });
  dirty = $state(false);
  undoLabel = $state<string | null>(null);
  redoLabel = $state<string | null>(null);
  private history: History<Study> | null = null;

  /** Opens a study from text. Null when it was opened, else the sentences that say what is wrong; nothing is lost then. */
  open(text: string, file: OpenFile): string[] | null {
    const loaded = loadStudy(text);
    if (!loaded.ok) return loaded.problems.map((problem) => problem.sentence);
    this.history = new History(loaded.study);
    this.file = file;
    this.refresh();
    return null;
  }

  /** Changes the study; see `History.change` for label and mark. */
  change(label: string, recipe: (draft: Study) => void, mark: string | null = null): void {
    if (this.history?.change(label, recipe, mark) === true) this.refresh();
  }

  /** The end of a drag: what follows is a change of its own. */
  settle(): void {
    this.history?.settle();
  }

  undo(): void {
    if (this.history?.undo() != null) this.refresh();
  }

  redo(): void {
    if (this.history?.redo() != null) this.refresh();
  }

  /** The study as the text of its file. */
  text(): string {
    if (this.study === null) throw new Error('DocumentStore.text: no study is open');
    return saveStudy(this.study);
  }

  /** Its content now stands in this file. */
  saved(file: OpenFile): void {
    this.file = file;
    this.history?.markSaved();
    this.refresh();
  }

  private refresh(): void {
    const { history } = this;
    if (history === null) return;
    this.study = history.document;
    this.dirty = history.dirty;
    this.undoLabel = history.undoLabel;
    this.redoLabel = history.redoLabel;
  }
}
