/** Everything that one window holds: document, results, clock and view, and what connects them. */
import type { Claim } from '../../core/contract/claims.ts';
import type { Study } from '../../core/contract/study.ts';
import type { HomewardReply } from '../../core/replay/homeward.ts';
import { filmStaging } from '../../core/replay/film/staging.ts';
import { asAnswered } from '../../core/solve/answer.ts';
import { eventTime, setEventTime } from '../../core/study/eventTime.ts';
import { calibratedStudy } from '../../core/study/calibration/calibrated.ts';
import { withChosen, withReserveRule } from '../../core/study/returnChoice.ts';
import { gapEvent, gapOf_s, hasGap } from '../../core/study/gap.ts';
import type { Host } from '../bridge/host.ts';
import type { ComputeClient } from '../compute/client.ts';
import { BriefWork } from '../brief/work.svelte.ts';
import { FilmWork } from '../film/work.svelte.ts';
import { DocumentStore } from './document.svelte.ts';
import { EvidenceWork } from './evidence.svelte.ts';
import { ObservedWork } from './observed.svelte.ts';
import { Playback, type FrameSource } from './playback.ts';
import { Results, sweepGaps_s } from './results.svelte.ts';
import { Inquiry } from './inquiry.svelte.ts';
import { Job } from './job.svelte.ts';
import { sameFlown, USUAL_MEMBERS } from './spread.ts';

export type ViewName =
  'rehearse' | 'question' | 'staging' | 'return' | 'assumptions' | 'evidence' | 'brief' | 'film';

/** A file to be chosen, and what is to be done with it. */
export interface FolderWish {
  readonly purpose: 'open' | 'save';
  readonly suggestedName: string;
  readonly ending: string;
  /** Text to write; null for opening. */
  readonly text: string | null;
  /** Whether the text stands for bytes: a picture. */
  readonly encoding?: 'base64';
  /** Takes the chosen file in place of text: a film, which writes it bit by bit; a table to be read. */
  readonly take?: (token: string) => void;
}

export interface ShownParting {
  /** The body whose link is undone. */
  readonly link: string | null;
  /** A way of staging of the study, by its id. */
  readonly way: string | null;
  /** So many springs or pushers give nothing. */
  readonly failed: number;
}

export class Session {
  readonly document = new DocumentStore();
  readonly results: Results;
  /** The band on the answer: how it spreads when the study's uncertain numbers vary together. */
  readonly spread: Job<'spread'>;
  /** The study's claim judged. */
  readonly claim: Job<'claim'>;
  /** The answer's spread taken apart by input. */
  readonly indices: Job<'spread'>;
  readonly inquiry: Inquiry;
  /** The study's ways of staging held against each other. */
  readonly modes: Job<'modes'>;
  /** A body's way home, alone or with the ascent. */
  readonly homeward: Job<'homeward'>;
  /** The last answer of each plan of a flight home, all of one study. */
  homewards = $state.raw<{ readonly study: Study; readonly replies: readonly HomewardReply[] } | null>(null);
  /** Pictures of a parting, and what came of it. */
  readonly closeUps: Job<'closeUps'>;
  /** What the close-up shows; a link or a way of staging that is none stands for the study's own. */
  shown = $state.raw<ShownParting>({ link: null, way: null, failed: 0 });
  /** The program held against published numbers. */
  readonly evidence: EvidenceWork;
  /** The study held against observed points. */
  readonly observed: ObservedWork;
  /** The study presented page by page. */
  readonly brief: BriefWork;
  /** The film made of the study: its cues, its pictures, its recording. */
  readonly film: FilmWork;
  readonly playback: Playback;
  view = $state<ViewName>('rehearse');
  evidencePart = $state<'published' | 'observed'>('published');
  sheet = $state<'paper' | 'night'>('paper');
  /** Sentences to show over the view; empty when there is nothing to say. */
  notices = $state.raw<readonly string[]>([]);
  /** What the stretched band shows, s. */
  span = $state.raw<{ start_s: number; end_s: number }>({ start_s: 0, end_s: 1 });
  /** The margin that a return keeping what it takes is given: the last that was set, else a usual one (common practice, no source). */
  lastMargin = 0.03;
  /** What the folder sheet is open for; null when it is closed. */
  folder = $state.raw<FolderWish | null>(null);
  /** Times of the knots on show, s, for going from one to the next. */
  knotTimes: readonly number[] = [];
  private flownRange: string | null = null;

  constructor(
    readonly host: Host,
    solver: ComputeClient,
    sweeper: ComputeClient,
    makeClient: () => ComputeClient,
    frames: FrameSource,
  ) {
    this.results = new Results(solver, sweeper);
    this.spread = new Job('spread', makeClient);
    this.claim = new Job('claim', makeClient);
    this.indices = new Job('spread', makeClient);
    this.inquiry = new Inquiry(makeClient);
    this.modes = new Job('modes', makeClient);
    this.homeward = new Job('homeward', makeClient);
    this.closeUps = new Job('closeUps', makeClient);
    this.observed = new ObservedWork(makeClient);
    this.evidence = new EvidenceWork(host, makeClient);
    this.playback = new Playback(frames);
    this.brief = new BriefWork(makeClient, frames);
    this.film = new FilmWork(makeClient, frames);
  }

  get study(): Study | null {
    return this.document.study;
  }

  /** Id of the event whose gap is in question; null when the study has none. */
  get gapEvent(): string | null {
    const { study } = this;
    return study === null || !hasGap(study) ? null : gapEvent(study);
  }

  /** s; NaN without a gap. */
  get gap_s(): number {
    const event = this.gapEvent;
    return event === null || this.study === null ? Number.NaN : gapOf_s(this.study, event);
  }

  /** The first study of a new window: the settings, then the study that it was started with, else the first demo. */
  async begin(): Promise<void> {
    await this.attempt(async () => {
      this.sheet = (await this.host.request('settings.read', {})).sheet;
      const start = await this.host.request('app.startStudy', {});
      if (start !== null) {
        await this.openFile(start.token);
        return;
      }
      const demos = await this.host.request('demo.list', {});
      const first = demos[0];
      if (first === undefined) this.notices = ['No demo study was found; open a study of your own.'];
      else await this.openDemo(first.id);
    });
  }

  changeSheet(): void {
    this.sheet = this.sheet === 'paper' ? 'night' : 'paper';
    void this.attempt(async () => {
      await this.host.request('settings.write', { sheet: this.sheet });
    });
  }

  /** Opens a study of the user's choice. */
  wantOpen(): void {
    void this.choose({ purpose: 'open', suggestedName: '', ending: 'plumeline.json', text: null });
  }

  /** Opens a table of observed points of the user's choice. */
  wantPoints(): void {
    const take = (token: string): void => {
      void this.attempt(async () => {
        const { name, text } = await this.host.request('file.read', { token });
        this.observed.read(name, text);
      });
    };
    void this.choose({ purpose: 'open', suggestedName: 'points.csv', ending: 'csv', text: null, take });
  }

  /** Saves the study; asks where when it has no file yet, or when `elsewhere`. */
  wantSave(elsewhere: boolean): void {
    if (this.study === null) return;
    if (!elsewhere && this.document.file.token !== null) {
      void this.save();
      return;
    }
    const name = this.document.file.name || 'study.plumeline.json';
    void this.choose({
      purpose: 'save',
      suggestedName: name,
      ending: 'plumeline.json',
      text: this.document.text(),
    });
  }

  /** Writes text into a file of the user's choice: a chart, a table. */
  exportText(suggestedName: string, ending: string, text: string, encoding?: 'base64'): void {
    const wish = { purpose: 'save', suggestedName, ending, text } as const;
    void this.choose(encoding === undefined ? wish : { ...wish, encoding });
  }

  /** What files made of the study are called before their own ending. */
  get stem(): string {
    return this.document.file.name.replace(/\.plumeline\.json$/, '') || 'study';
  }

  /** Writes what a chart is saved as, under a stem to which its ending is put. */
  exporter(stem: string): (ending: string, data: string, encoding?: 'base64') => void {
    return (ending, data, encoding) => this.exportText(`${stem}.${ending}`, ending, data, encoding);
  }

  /** A file of the user's choice to be written by whoever asks. */
  wantFile(suggestedName: string, ending: string, take: (token: string) => void): void {
    void this.choose({ purpose: 'save', suggestedName, ending, text: null, take });
  }

  private async choose(wish: FolderWish): Promise<void> {
    await this.attempt(async () => {
      const { purpose, suggestedName, ending } = wish;
      const choice = await this.host.request('file.choose', {
        purpose,
        suggestedName: suggestedName === '' ? `study.${ending}` : suggestedName,
        ending,
      });
      if (choice.outcome === 'browse') this.folder = wish;
      else if (choice.outcome === 'chosen') await this.fulfil(wish, choice.file.token);
    });
  }

  /** The folder sheet's choice. */
  async chosen(token: string): Promise<void> {
    const wish = this.folder;
    this.folder = null;
    if (wish !== null) await this.fulfil(wish, token);
  }

  private async fulfil(wish: FolderWish, token: string): Promise<void> {
    if (wish.take !== undefined) wish.take(token);
    else if (wish.purpose === 'open') await this.openFile(token);
    else if (wish.ending === 'plumeline.json') await this.saveAs(token);
    else {
      await this.attempt(async () => {
        const { text, encoding } = wish;
        await this.host.request('file.write', {
          token,
          text: text ?? '',
          ...(encoding === undefined ? {} : { encoding }),
        });
      });
    }
  }

  /** Goes to the next knot (+1) or the one before (−1). */
  toKnot(direction: 1 | -1): void {
    const now = this.playback.time_s;
    const ahead = this.knotTimes.filter((t) => (direction > 0 ? t > now + 1e-3 : t < now - 1e-3));
    const next = direction > 0 ? ahead[0] : ahead[ahead.length - 1];
    if (next !== undefined) this.playback.seek(next);
  }

  /** Opens a study from text; what is wrong with it is shown and the open study stays. */
  open(text: string, file: { token: string | null; name: string }): boolean {
    const wrong = this.document.open(text, file);
    if (wrong !== null) {
      this.notices = wrong.slice(0, 5);
      return false;
    }
    this.notices = [];
    this.results.clear();
    this.spread.clear();
    this.claim.clear();
    this.indices.clear();
    this.inquiry.clear();
    this.modes.clear();
    this.homeward.clear();
    this.homewards = null;
    this.closeUps.clear();
    this.shown = { link: null, way: null, failed: 0 };
    this.observed.clear();
    this.brief.clear();
    this.film.clear();
    this.playback.pause();
    this.flownRange = null;
    this.resolve(false);
    return true;
  }

  async openDemo(id: string): Promise<void> {
    await this.attempt(async () => {
      const { name, text } = await this.host.request('demo.read', { id });
      this.open(text, { token: null, name });
    });
  }

  async openFile(token: string): Promise<void> {
    await this.attempt(async () => {
      const { name, text } = await this.host.request('file.read', { token });
      this.open(text, { token, name });
    });
  }

  /** Saves into the study's own file; false when it has none, so that the caller asks for one. */
  async save(): Promise<boolean> {
    const { token } = this.document.file;
    if (token === null) return false;
    return this.saveAs(token);
  }

  async saveAs(token: string): Promise<boolean> {
    return this.attempt(async () => {
      const { name } = await this.host.request('file.write', { token, text: this.document.text() });
      this.document.saved({ token, name });
    });
  }

  /** Sets the gap (s). While the hand moves the answer follows from its neighbour; at rest it is solved anew. */
  setGap(gap_s: number, moving: boolean): void {
    const event = this.gapEvent;
    if (event === null || Number.isNaN(gap_s)) return;
    this.setEventTime(event, Math.round(Math.min(60, Math.max(-20, gap_s)) * 100) / 100, moving);
    if (this.view === 'question') this.followCurve(null);
  }

  /** Sets the number (s) by which an event is set in time; as `setGap` for any event that has one. */
  setEventTime(event: string, value_s: number, moving: boolean): void {
    const { study } = this;
    if (study === null || Number.isNaN(value_s) || eventTime(study, event) === null) return;
    const name = study.sequence.events.find((e) => e.id === event)?.name ?? event;
    this.document.change(`move ${name}`, (draft) => setEventTime(draft, event, value_s), `time of ${event}`);
    if (!moving) this.document.settle();
    this.resolve(moving);
  }

  /**
   * Sets a number of the study by its path, in the unit of the path's last word; the answer follows as with `setGap`. Null
   * when it was set, else the sentence that says what is wrong.
   */
  setNumber(path: string, name: string, value: number, moving: boolean): string | null {
    const wrong = this.document.setValue(`change ${name}`, path, value);
    if (wrong !== null) return wrong;
    if (!moving) this.document.settle();
    this.resolve(moving);
    if (this.view === 'question') this.followCurve(path);
    return null;
  }

  undo(): void {
    this.document.undo();
    this.inquiry.live = [];
    this.resolve(false);
  }

  redo(): void {
    this.document.redo();
    this.inquiry.live = [];
    this.resolve(false);
  }

  /** Solves the study as it stands. */
  resolve(moving: boolean): void {
    if (this.study !== null) this.results.ask(this.study, moving);
  }

  /** Sweeps the gap, and then its band when numbers of the study say how uncertain they are. */
  askSweep(): void {
    const { study } = this;
    const event = this.gapEvent;
    if (study === null || event === null) return;
    void this.results.askSweep(study, sweepGaps_s(study, event), 0).then(() => {
      this.inquiry.live = [];
      if (this.results.sweepStudy === study && this.hasSpreads) this.askSpread();
    });
  }

  /** Whether any number of the study says how uncertain it is. */
  get hasSpreads(): boolean {
    return Object.values(this.study?.provenance ?? {}).some(({ spread }) => spread !== undefined);
  }

  /** The band on the sweep that stands: every member solves all its gaps, the reference first. */
  askSpread(members = USUAL_MEMBERS): void {
    const { sweep, sweepStudy } = this.results;
    const event = this.gapEvent;
    if (sweep === null || sweepStudy === null || event === null) return;
    const solved = sweep.points.filter((p) => p.mode === 'reoptimised' && p.outcome.status === 'converged');
    // Every gap costs a solve a draw: of the overlaps the study's own will do.
    const others = solved
      .map((p) => p.gap_s)
      .filter((gap) => gap !== sweep.reference.gap_s && (gap > 0 || gap === gapOf_s(sweepStudy, event)));
    const gaps_s = [sweep.reference.gap_s, ...others];
    void this.spread.ask(
      sweepStudy,
      { study: sweepStudy, event, gaps_s, members, seed: 1, indices: false },
      members,
    );
  }

  /** Takes the variance of what a gap (s) costs apart by input: (k + 2) solves a draw and gap. */
  askIndices(gap_s: number, members: number): void {
    const { study } = this;
    const event = this.gapEvent;
    if (study === null || event === null) return;
    const request = { study, event, gaps_s: [0, gap_s], members, seed: 1, indices: true };
    void this.indices.ask(study, request, members);
  }

  /** Sweeps what the chart is drawn against: the gap, or the number that was chosen. */
  askCurve(): void {
    const { study } = this;
    const { axis } = this.inquiry;
    if (study === null) return;
    if (axis === null) this.askSweep();
    else this.inquiry.askNumberSweep(study, axis);
  }

  /** While the gap or a number is under the hand, the curve against the other follows it. */
  followCurve(changed: string | null): void {
    const { study } = this;
    if (study === null) return;
    const gaps_s = (this.results.sweep?.points ?? [])
      .filter((p) => p.mode === 'reoptimised' && p.outcome.status === 'converged')
      .map((p) => p.gap_s);
    this.inquiry.follow(study, changed, gaps_s);
  }

  /** The claim that is looked at: the study's first. Null when it holds none. */
  get openClaim(): Claim | null {
    return this.study?.claims?.[0] ?? null;
  }

  /** Whether the sweep that stands is of a study that has changed since, its gap left aside. */
  get sweepStale(): boolean {
    const { sweep, sweepStudy } = this.results;
    return sweep !== null && !sameFlown(sweepStudy, this.study, this.gapEvent);
  }

  /** Whether the judgement that stands is of another claim, or of a study that has changed since. */
  get claimStale(): boolean {
    const { study, openClaim } = this;
    const { reply, study: judged } = this.claim;
    if (reply === null) return false;
    if (JSON.stringify(reply.claim) !== JSON.stringify(openClaim)) return true;
    // A claim that sets the gap on both sides does not depend on where the study has it.
    const sets = openClaim === null ? [] : [openClaim.baseline.set, openClaim.change.set];
    const setsGap =
      sets.length > 0 &&
      sets.every((set) => Object.keys(set).some((path) => path.endsWith('.trigger.gap_s')));
    return !sameFlown(judged, study, setsGap ? this.gapEvent : null);
  }

  /** Judges the study's claim, from members that were drawn before as far as they belong to it. */
  askClaim(members = USUAL_MEMBERS): void {
    const { study, openClaim } = this;
    if (study === null || openClaim === null || !this.hasSpreads) return;
    void this.claim.ask(study, { study, claim: openClaim.id, members, seed: 1 }, members);
  }

  /** Changes the claim and judges it anew. Null when it was changed, else the sentence that says what is wrong. */
  setClaim(label: string, claim: Claim): string | null {
    const wrong = this.document.setClaim(label, claim);
    if (wrong === null) this.askClaim();
    return wrong;
  }

  /** The ways of staging of the study as it stands; each is one piece of work, and the ring's break-even another. */
  askModes(): void {
    const { study } = this;
    if (study === null) return;
    void this.modes.ask(study, { study }, Object.keys(study.stagingModes ?? {}).length + 2);
  }

  /** The body whose link an event undoes, by the event's id; null when it is no parting. */
  linkOf(event: string | null): string | null {
    const found = this.study?.sequence.events.find(({ id }) => id === event);
    return found?.action.kind === 'part' ? found.action.link : null;
  }

  /** Shows the parting at a link from close by. */
  showParting(link: string): void {
    this.shown = { link, way: null, failed: 0 };
    this.view = 'staging';
  }

  /** Shows the parting of a way of staging from close by; the study's own when it is none that the study names. */
  showWay(id: string): void {
    const named = this.study?.stagingModes?.[id] !== undefined;
    this.shown = { link: null, way: named ? id : null, failed: 0 };
  }

  /** The body whose parting is shown; null when the flight has none. */
  get shownLink(): string | null {
    const { answer } = this.results;
    const { way, link } = this.shown;
    const mode = way === null ? undefined : this.study?.stagingModes?.[way];
    if (mode !== undefined) return mode.link;
    if (link !== null || answer === null) return link;
    return filmStaging(answer.study, answer.flight.log)?.link ?? null;
  }

  /**
   * Works out the close-ups of what is to be shown, in the flight of the last answer, or in that of a way of staging that has
   * been solved.
   */
  askCloseUps(): void {
    const { answer } = this.results;
    if (answer === null) return;
    const { failed } = this.shown;
    const { reply, study: solved } = this.modes;
    const row = reply?.rows.find(({ id }) => id === this.shown.way);
    const mode = row === undefined ? undefined : solved?.stagingModes?.[row.id];
    if (row !== undefined && mode !== undefined && solved !== null && row.values !== null) {
      const way = { id: row.id, gap_s: row.gap_s };
      const own = asAnswered(solved, row.coupled);
      void this.closeUps.ask(solved, { study: own, values: row.values, link: mode.link, failed, way }, 1);
      return;
    }
    const { study, flown, flight } = answer;
    const link = this.shownLink;
    if (link === null) return;
    void this.closeUps.ask(study, { study: flown, values: flight.values, link, failed }, 1);
  }

  /** Has the study's answer fly a return (id), or leave it out. Null when it was changed, else the sentence that says what is wrong. */
  chooseReturn(plan: string, chosen: boolean): string | null {
    const name = this.study?.returns?.plans[plan]?.name ?? plan;
    const label = chosen ? `choose “${name}”` : `leave out “${name}”`;
    return this.become(label, (study) => withChosen(study, plan, chosen));
  }

  /** Has a return's body keep what the return takes and a share more, or, with null, what is given. Null or a sentence, as above. */
  setReserveRule(plan: string, margin: number | null): string | null {
    const own = this.study?.returns?.plans[plan]?.reserve;
    if (own?.kind === 'taken') this.lastMargin = own.margin;
    const rule = margin === null ? ({ kind: 'given' } as const) : ({ kind: 'taken', margin } as const);
    const label = margin === null ? 'keep what is given' : 'keep what the return takes';
    return this.become(label, (study) => withReserveRule(study, plan, rule));
  }

  /** Sets the margin (a share) on what a return takes. Null or a sentence, as above. */
  setMargin(plan: string, margin: number): string | null {
    return this.setNumber(`returns.plans.${plan}.reserve.margin`, 'the margin for the return', margin, false);
  }

  /** One change of the study, checked as a whole and solved. */
  private become(label: string, change: (study: Study) => Study): string | null {
    const { study } = this;
    if (study === null) return 'no study is open';
    const wrong = this.document.become(label, change(study));
    if (wrong !== null) return wrong;
    // Another return is another flight: the view is fitted to it anew.
    this.flownRange = null;
    this.resolve(false);
    return null;
  }

  /** Solves a return of the study as it stands, alone or with the ascent. */
  async askHomeward(plan: string, together: boolean): Promise<void> {
    const { study, homeward } = this;
    if (study === null) return;
    const before = homeward.reply;
    await homeward.ask(study, { study, plan, together }, 1);
    const { reply } = homeward;
    if (reply === null || reply === before || homeward.study !== study) return;
    const kept = this.homewards?.study === study ? this.homewards.replies : [];
    this.homewards = { study, replies: [...kept.filter((each) => each.plan !== reply.plan), reply] };
  }

  /** Solves all plans of the study as it stands, the given one last, which is then on show; stops where one is called off. */
  async askEveryHomeward(last: string, together: boolean): Promise<void> {
    const { study } = this;
    const others = Object.keys(study?.returns?.plans ?? {}).filter((plan) => plan !== last);
    for (const plan of [...others, last]) {
      const before = this.homeward.reply;
      await this.askHomeward(plan, together);
      if (this.study !== study || this.homeward.reply === before) return;
    }
  }

  /** Puts the flight of the return that was solved on show until the study is solved again. */
  showHomeward(): void {
    const { reply } = this.homeward;
    if (reply?.flown == null) return;
    const name = this.study?.returns?.plans[reply.plan]?.name ?? reply.plan;
    this.results.show(reply.flown, `with “${name}”`);
    this.view = 'rehearse';
  }

  /** Runs the published checks. */
  askEvidence(): void {
    void this.attempt(() => this.evidence.ask());
  }

  /** Writes what was fitted into the study, values and spreads, as one change. */
  takeFit(): void {
    const { study, observed } = this;
    const found = observed.fit.reply?.calibration;
    if (study === null || found?.status !== 'converged' || observed.fit.study !== study) return;
    const wrong = this.document.become('take fitted values', calibratedStudy(study, found));
    if (wrong !== null) {
      this.notices = [`The fitted values cannot stand in the study: ${wrong}`];
      return;
    }
    observed.taken = true;
    this.resolve(false);
  }

  /** Fits clock and stretched span to a new flight; a flight re-flown with small changes keeps the view. */
  fitTo(start_s: number, end_s: number, staging: { from_s: number; to_s: number }): void {
    this.playback.setRange(start_s, end_s);
    if (this.flownRange !== this.document.file.name) {
      this.flownRange = this.document.file.name;
      this.span = { start_s: staging.from_s, end_s: staging.to_s };
      this.playback.seek(staging.from_s + 0.5 * (staging.to_s - staging.from_s));
    }
  }

  private async attempt(work: () => Promise<void>): Promise<boolean> {
    try {
      await work();
      return true;
    } catch (error) {
      this.notices = [error instanceof Error ? error.message : String(error)];
      return false;
    }
  }
}
