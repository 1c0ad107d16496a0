/** The open study: one document in one store, with undo and redo. Everything else in the window follows from it. */
import type { Provenance } from '../../core/contract/assumptions.ts';
import type { Claim } from '../../core/contract/claims.ts';
import type { JsonValue } from '../../core/contract/json.ts';
import { loadStudy, saveStudy } from '../../core/contract/load.ts';
import { followPath, valueAt } from '../../core/contract/places.ts';
import type { Study } from '../../core/contract/study.ts';
import { setByPath } from '../../core/contract/studyNumbers.ts';
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

  /**
   * Sets one value by its path, joined to the change before under the same path while a drag lasts. Null when it was set,
   * else the sentence that says what is wrong; the study then stays as it is.
   */
  setValue(label: string, path: string, value: JsonValue): string | null {
    if (this.study === null) return 'no study is open';
    const checked = setByPath(this.study, path, value);
    if (!checked.ok) return checked.problems[0]?.sentence ?? `${path}: cannot be set`;
    const { steps, missing } = followPath(this.study, path);
    this.change(
      label,
      (draft) => {
        const at = missing === undefined ? steps.slice(0, -1) : steps;
        const holder = valueAt(draft, at) as Record<string | number, JsonValue>;
        holder[missing?.word ?? steps[steps.length - 1]!] = value;
      },
      path,
    );
    return null;
  }

  /** Says where a number comes from and how well it is known; null takes back what was said. Null or a sentence, as above. */
  setProvenance(path: string, provenance: Provenance | null): string | null {
    if (this.study === null) return 'no study is open';
    const others = Object.entries(this.study.provenance).filter(([key]) => key !== path);
    const next = provenance === null ? others : [...others, [path, provenance] as const];
    const checked = setByPath(this.study, 'provenance', Object.fromEntries(next) as unknown as JsonValue);
    if (!checked.ok) return checked.problems[0]?.sentence ?? `${path}: nothing can be said of it`;
    this.change('say how a number is known', (draft) => {
      draft.provenance = Object.fromEntries(next);
    });
    return null;
  }

  /** Changes one of the study's claims. Null when it was changed, else the sentence that says what is wrong. */
  setClaim(label: string, claim: Claim): string | null {
    const { study } = this;
    const claims = study?.claims;
    if (study === null || claims === undefined) return 'the study holds no claim';
    const next = claims.map((each) => (each.id === claim.id ? claim : each));
    const checked = setByPath(study, 'claims', next as unknown as JsonValue);
    if (!checked.ok) return checked.problems[0]?.sentence ?? 'the claim cannot be changed so';
    this.change(label, (draft) => {
      draft.claims = next;
    });
    return null;
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
