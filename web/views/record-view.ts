import { css, html, LitElement, nothing } from "lit";
import { CLASS_WORDS } from "../../shared/class-words.ts";
import type { JobEventOf } from "../../shared/job.ts";
import { nothingLearned } from "../../shared/nothing-learned.ts";
import type { WireJobEvent, WireJobRun, WireJobSheet } from "../../shared/wire-job.ts";
import { jobRecord } from "../record/job-record.ts";
import { baseStyle } from "./base-style.ts";
import "../record/kept-file.ts";
import "../record/stored-run.ts";

const RESULTS: [result: JobEventOf<"result">["result"], words: string][] = [
  ["passed", "It passed"],
  ["failed", "It failed"],
  ["returned", "It came back"],
];

/** The job as it was filed: its runs with their traces and verdicts, its log in order with the files, and its report. */
export class RecordView extends LitElement {
  static override properties = {
    sheet: { attribute: false },
    mayWrite: { type: Boolean },
    opened: { state: true },
    problem: { state: true },
    report: { state: true },
  };
  declare sheet: WireJobSheet | null;
  declare mayWrite: boolean;
  /** Runs that are unfolded; their traces are asked for only then. */
  declare opened: ReadonlySet<string>;
  declare problem: string;
  declare report: { name: string; url: string } | null;

  static override styles = [
    baseStyle,
    css`
      :host {
        display: grid;
        gap: 0.7rem;
      }
      :host([hidden]) {
        display: none;
      }
      .log li {
        display: grid;
        grid-template-columns: 9.5rem 7rem minmax(0, 1fr);
        gap: 0.1rem 0.7rem;
        padding: 0.3rem 0;
        border-top: 1px solid var(--hair);
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
  }

  override render() {
    const { sheet } = this;
    if (sheet === null) return html`<section class="card"><p>No job is open. Open one at its intake.</p></section>`;
    const result = sheet.events.findLast((each) => each.kind === "result");
    return html`<section class="card stack" aria-label="Report">
        <h2>Report for the owner</h2>
        <p class="small">One page in plain words, with everything filed as an appendix. It is a file that needs nothing else.</p>
        <div class="row">
          <button class="main" ?disabled=${!this.mayWrite} @click=${() => this.#makeReport(sheet.id)}>Make the report</button>
          ${this.report === null ? nothing : html`<a href=${this.report.url} download=${this.report.name}>Save ${this.report.name}</a>`}
        </div>
        ${this.problem === "" ? nothing : html`<p class="problem" role="alert">✕ ${this.problem}</p>`}
      </section>
      <section class="card stack" aria-label="Result">
        <h2>What became of it${result === undefined ? "" : `: ${result.text}`}</h2>
        <p class="small">A board that passed is one that later boards of its kind are held against.</p>
        <div class="row">
          ${RESULTS.map(([name, words]) => html`<button ?disabled=${!this.mayWrite} @click=${() => this.#file(sheet.id, name)}>${words}</button>`)}
        </div>
      </section>
      <section class="card" aria-label="Runs">
        <h2>Runs</h2>
        ${sheet.runs.length === 0 ? html`<p class="soft">None yet.</p>` : sheet.runs.toReversed().map((run) => this.#run(sheet.id, run))}
      </section>
      <section class="card" aria-label="Log of the job">
        <h2>Log</h2>
        <p class="small soft">Nothing in it is ever changed; a correction stands beside what it corrects.</p>
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
      <summary>${new Date(run.startedAt).toLocaleString()}, ${run.purpose}: ${draw}</summary>
      ${this.opened.has(run.run) ? html`<stored-run .job=${job} .run=${run}></stored-run>` : nothing}
    </details>`;
  }

  #event(job: string, { at, kind, text, file }: WireJobEvent) {
    return html`<li>
      <time datetime=${at}>${new Date(at).toLocaleString()}</time>
      <b>${kind}</b>
      <span class="words">${file === null ? text : html`<kept-file .job=${job} .file=${file}></kept-file>`}</span>
    </li>`;
  }

  #unfold(run: string, open: boolean): void {
    if (open) this.opened = new Set([...this.opened, run]);
  }

  async #file(job: string, result: JobEventOf<"result">["result"]): Promise<void> {
    const filed = await jobRecord.file(job, { kind: "result", result, text: null });
    this.problem = filed.ok ? "" : filed.because;
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
