/** The open study: one document in one store, with undo and redo. Everything else in the window follows from it. */
import type { Provenance } from '../../core/contract/assumptions.ts';
import type { Claim } from '../../core/contract/claims.ts';
import type { JsonValue } from '../../core/contract/json.ts';
import { loadStudy, saveStudy, validateStudy } from '../../core/contract/load.ts';
import { followPath, valueAt } from '../../core/contract/places.ts';
import type { Study } from '../../core/contract/study.ts';
import { movedSpread, setByPath } from '../../core/contract/studyNumbers.ts';
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
  /** What happened beside the last change of a number; empty when nothing did. */
  remark = $state('');
  /** The number that is being changed, and the study before. */
  private dragged: { readonly path: string; readonly study: Study } | null = null;
  private history: History<Study> | null = null;

  /** Opens a study from text. Null when it was opened, else the sentences that say what is wrong; nothing is lost then. */
  open(text: string, file: OpenFile): string[] | null {
    const loaded = loadStudy(text);
    if (!loaded.ok) return loaded.problems.map((problem) => problem.sentence);
    this.forgetDrag();
    this.history = new History(loaded.study);
    this.file = file;
    this.refresh();
    return null;
  }

  /** Changes the study; see `History.change` for label and mark. */
  change(label: string, recipe: (draft: Study) => void, mark: string | null = null): void {
    if (mark === null || this.dragged?.path !== mark) this.dragged = null;
    if (this.history?.change(label, recipe, mark) === true) this.refresh();
  }

  /**
   * Sets one value by its path, joined to the change before under the same path while a drag lasts. Null when it was set,
   * else the sentence that says what is wrong; the study then stays as it is.
   */
  setValue(label: string, path: string, value: JsonValue): string | null {
    if (this.study === null) return 'no study is open';
    // While a drag lasts its spread is moved from where it was before, so that dragging back leaves it as it was.
    const from = this.dragged?.path === path ? this.dragged.study : this.study;
    const checked = setByPath(from, path, value);
    if (!checked.ok) return checked.problems[0]?.sentence ?? `${path}: cannot be set`;
    const moved = movedSpread(from, path, value);
    const { steps, missing } = followPath(this.study, path);
    const { provenance } = checked.study;
    this.change(
      label,
      (draft) => {
        for (const [key, { spread }] of Object.entries(provenance)) {
          const own = draft.provenance[key];
          if (spread === undefined || own?.spread === undefined) continue;
          if (own.spread.low !== spread.low || own.spread.high !== spread.high) own.spread = spread;
        }
        const at = missing === undefined ? steps.slice(0, -1) : steps;
        const holder = valueAt(draft, at) as Record<string | number, JsonValue>;
        holder[missing?.word ?? steps[steps.length - 1]!] = value;
      },
      path,
    );
    this.dragged = { path, study: from };
    this.remark =
      moved === null
        ? ''
        : 'This lies beyond what was said of the number; its spread goes along with it, as wide as it was.';
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

  /**
   * Makes the study another one in one change, checked as a whole. Null when it was made, else the sentence that says what is
   * wrong; the study then stays as it is.
   */
  become(label: string, study: Study): string | null {
    const checked = validateStudy(study);
    if (!checked.ok) return checked.problems[0]?.sentence ?? 'this is no study';
    this.settle();
    this.change(label, (draft) => Object.assign(draft, checked.study));
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
    this.dragged = null;
    this.history?.settle();
  }

  undo(): void {
    this.forgetDrag();
    if (this.history?.undo() != null) this.refresh();
  }

  redo(): void {
    this.forgetDrag();
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

  private forgetDrag(): void {
    this.dragged = null;
    this.remark = '';
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
