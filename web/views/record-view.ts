import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import { CLASS_WORDS } from "../../shared/class-words.ts";
import type { JobEventOf } from "../../shared/job.ts";
import { nothingLearned } from "../../shared/nothing-learned.ts";
import type { WireJobEvent, WireJobRun, WireJobSheet } from "../../shared/wire-job.ts";
import { saveBlob } from "../plot/save-picture.ts";
import { jobRecord } from "../record/job-record.ts";
import { notesOf, roundsOf } from "../record/rounds.ts";
import { baseStyle } from "./base-style.ts";
import { momentText } from "./figures.ts";
import { hostStack } from "./host-stack.ts";
import "../record/kept-file.ts";
import "../record/stored-run.ts";
import "./correct-form.ts";

const RESULTS: [result: JobEventOf<"result">["result"], words: string][] = [
  ["passed", "It passed"],
  ["failed", "It failed"],
  ["returned", "It came back"],
];

/** The record's kinds of events, as people say them. */
const KINDS: Record<string, string> = {
  opened: "opened",
  "cold-readings": "cold readings",
  "run-started": "power-up started",
  "run-ended": "power-up ended",
  "sweep-started": "sweep started",
  "sweep-rail": "rail",
  "sweep-ended": "sweep ended",
  attachment: "file",
  "report-made": "report",
  "lead-null": "leads nulled",
};
/** Kinds whose words are put right in place; the others by a note. */
const PUT_RIGHT = new Set(["opened", "note", "repair", "attachment", "cold-readings", "answer"]);
const PURPOSES: Record<string, string> = { powerup: "power-up", sweep: "power-up of a sweep", inject: "injection" };

/** The job as it was filed: its runs with their traces and verdicts, its log in order with the files, and its report. */
export class RecordView extends LitElement {
  static override properties = {
    sheet: { attribute: false },
    mayWrite: { type: Boolean },
    opened: { state: true },
    problem: { state: true },
    report: { state: true },
    sure: { state: true },
    correcting: { state: true },
  };
  declare sheet: WireJobSheet | null;
  declare mayWrite: boolean;
  /** Runs that are unfolded; their traces are asked for only then. */
  declare opened: ReadonlySet<string>;
  declare problem: string;
  declare report: { name: string; url: string } | null;
  /** The job that a person says passed, until that was asked again; null: nothing is asked. */
  declare sure: string | null;
  /** The entry that is put right now. */
  declare correcting: string | null;

  static override styles = [
    baseStyle,
    hostStack,
    css`
      .log li {
        display: grid;
        grid-template-columns: 9.5rem 7rem minmax(0, 1fr);
        gap: 0.1rem 0.7rem;
        padding: 0.3rem 0;
        border-top: 1px solid var(--hair);
      }
      .right {
        min-height: 1.6rem;
        padding: 0 0.5rem;
        border-width: 1px;
        font-weight: 400;
      }
      .words {
        white-space: pre-wrap;
        overflow-wrap: anywhere;
      }
      a {
        color: var(--focus);
        font-weight: 600;
        display: inline-block;
        min-height: 1.5rem;
      }
      @media (max-width: 40rem) {
        .log li {
          grid-template-columns: minmax(0, 1fr);
        }
      }
    `,
  ];

  constructor() {
    super();
    this.sheet = null;
    this.mayWrite = false;
    this.opened = new Set();
    this.problem = "";
    this.report = null;
    this.sure = null;
    this.correcting = null;
  }

  override willUpdate(changed: PropertyValues): void {
    const before = changed.get("sheet") as WireJobSheet | null | undefined;
    if (!changed.has("sheet") || before?.id === this.sheet?.id) return;
    this.sure = null;
    this.report = null;
    this.problem = "";
  }

  override render() {
    const { sheet } = this;
    if (sheet === null) return nothing;
    const result = sheet.events.findLast((each) => each.kind === "result");
    const last = roundsOf(sheet).at(-1);
    const ran = last?.kinds.has("run-ended") === true;
    return html`<section class="card stack" aria-label="Hand back">
        <h2>Hand back${result === undefined ? "" : `: ${result.text}`}</h2>
        <p class="small">Later boards of this kind are compared with a board that passed.${ran ? "" : html` <b>${last?.number === 1 ? "It has not been powered yet" : "It has not been powered since the repair"}: nobody can say yet that it passed.</b>`}</p>
        ${
          this.sure === null
            ? html`<div class="row">
                ${RESULTS.map(([name, words]) => html`<button ?disabled=${!this.mayWrite || (name === "passed" && !ran)} @click=${() => this.#choose(sheet.id, name)}>${words}</button>`)}
                ${result === undefined || result.correctable === false ? nothing : html`<button ?disabled=${!this.mayWrite} @click=${() => this.#takeBack(sheet.id, result)}>Take "${result.text}" back</button>`}
              </div>`
            : html`<p><b>Did this board pass every test that it needs? Later boards are compared with it.</b></p>
                <div class="row"><button @click=${this.#notSure}>No: not yet</button><button class="main" @click=${() => this.#file(sheet.id, "passed")}>Yes: it passed</button></div>`
        }
        <div class="row">
          <button ?disabled=${!this.mayWrite} @click=${() => this.#makeReport(sheet.id)}>Make the report</button>
          ${this.report === null ? html`<span class="small soft">for the owner, one page in plain words, followed by everything that was filed</span>` : html`<a href=${this.report.url} download=${this.report.name}>Save ${this.report.name}</a>`}
        </div>
        <div class="row">
          <button @click=${() => this.#archive(sheet)}>Save the whole job</button>
          <span class="small soft">one file that another bench can import; nothing in it is lost</span>
        </div>
        ${this.problem === "" ? nothing : html`<p class="problem" role="alert">✕ ${this.problem}</p>`}
      </section>
      <section class="card" aria-label="Runs">
        <h2>Runs</h2>
        ${sheet.runs.length === 0 ? html`<p class="soft">None yet.</p>` : sheet.runs.toReversed().map((run) => this.#run(sheet.id, run))}
      </section>
      <section class="card" aria-label="Log of the job">
        <h2>Log</h2>
        <p class="small soft">Nothing in it is ever changed; a correction is shown with the entry it corrects.</p>
        <ol class="log small">
          ${sheet.events.map((each) => this.#event(sheet.id, each))}
        </ol>
      </section>`;
  }

  #run(job: string, run: WireJobRun) {
    const draw =
      run.verdict === null
        ? run.outcome === null
          ? "no end in the record"
          : (nothingLearned(run.outcome) ?? "no verdict")
        : CLASS_WORDS[run.verdict.class];
    return html`<details @toggle=${(event: Event) => this.#unfold(run.run, (event.target as HTMLDetailsElement).open)}>
      <summary>${momentText(run.startedAt)}, ${PURPOSES[run.purpose] ?? run.purpose}: ${draw}</summary>
      ${this.opened.has(run.run) ? html`<stored-run .job=${job} .run=${run} .notes=${notesOf(this.sheet, run.run)} .mayNote=${this.mayWrite}></stored-run>` : nothing}
    </details>`;
  }

  #event(job: string, { id, at, kind, text, file, correctable }: WireJobEvent) {
    return html`<li>
      <time datetime=${at}>${momentText(at)}</time>
      <b>${KINDS[kind] ?? kind.replaceAll("-", " ")}</b>
      <span class="words">${file === null ? text : html`<kept-file .job=${job} .file=${file}></kept-file>`}
        ${
          id === this.correcting
            ? html`<correct-form .job=${job} .event=${id} @corrected=${() => this.#correct(null)}></correct-form>`
            : correctable && this.mayWrite && PUT_RIGHT.has(kind)
              ? html`<button class="right" @click=${() => this.#correct(id)}>Put right<span class="unseen">: ${text.slice(0, 60)}</span></button>`
              : nothing
        }</span>
    </li>`;
  }

  #correct(event: string | null): void {
    this.correcting = event;
  }

  #unfold(run: string, open: boolean): void {
    if (open) this.opened = new Set([...this.opened, run]);
  }

  #choose(job: string, result: JobEventOf<"result">["result"]): void {
    if (result === "passed") this.sure = job;
    else void this.#file(job, result);
  }

  readonly #notSure = (): void => {
    this.sure = null;
  };

  /** The log keeps what was said; from now on it counts as not decided in the board's favour. */
  async #takeBack(job: string, { id }: WireJobEvent): Promise<void> {
    const event = { kind: "result" as const, result: "failed" as const, text: "taken back: not decided yet" };
    const filed = await jobRecord.file(job, { kind: "correction", of: id, because: "taken back on the page", event });
    this.problem = filed.ok ? "" : filed.because;
  }

  async #file(job: string, result: JobEventOf<"result">["result"]): Promise<void> {
    const filed = await jobRecord.file(job, { kind: "result", result, text: null });
    this.problem = filed.ok ? "" : filed.because;
    this.sure = null;
  }

  async #archive({ id, short }: WireJobSheet): Promise<void> {
    const made = await jobRecord.made(`/api/jobs/${id}/archive`);
    this.problem = made.ok ? "" : made.because;
    if (made.ok) saveBlob(made.value, `job-${short}.zip`);
  }

  async #makeReport(job: string): Promise<void> {
    const made = await jobRecord.report(job);
    this.problem = made.ok ? "" : made.because;
    if (!made.ok) return;
    if (this.report !== null) URL.revokeObjectURL(this.report.url);
    const url = URL.createObjectURL(new Blob([made.value.html], { type: "text/html" }));
    this.report = { name: made.value.name, url };
  }
}
customElements.define("record-view", RecordView);
