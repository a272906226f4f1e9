import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import type { JobEventOf } from "../../../shared/record/job.ts";
import type { WireJobEvent, WireJobRun, WireJobSheet } from "../../../shared/wire-job.ts";
import { saveBlob } from "../../plot/save-picture.ts";
import { jobRecord } from "../../record/job-record.ts";
import { notesOf, roundsOf } from "../../record/rounds.ts";
import { has, say } from "../../words/record.ts";
import { baseStyle } from "../parts/base-style.ts";
import { classHeadline, nothingSentence } from "../parts/draw-words.ts";
import { momentText } from "../parts/figures.ts";
import { hostStack } from "../parts/host-stack.ts";
import { problem } from "../parts/problem.ts";
import { stageName } from "../parts/stage-names.ts";
import "../../record/kept-file.ts";
import "../../record/stored-run.ts";
import "./correct-form.ts";

const RESULTS: JobEventOf<"result">["result"][] = ["passed", "failed", "returned"];

/** Kinds whose words are put right in place; the others by a note. */
const PUT_RIGHT = new Set(["opened", "note", "repair", "attachment", "cold-readings", "answer", "test"]);

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
      /* Half of a wide screen is enough for each of the two short cards. */
      @media (min-width: 1900px) {
        :host(:not([hidden])) {
          grid-template-columns: repeat(2, minmax(0, 1fr));
          align-items: start;
        }
        section:last-of-type {
          grid-column: 1 / -1;
        }
      }
      .log li {
        display: grid;
        grid-template-columns: 9.5rem 8.5rem minmax(0, 1fr);
        gap: 0.1rem 0.7rem;
        padding: 0.3rem 0;
        border-top: 1px solid var(--hair);
      }
      .right {
        min-height: max(1.6rem, var(--touch, 0px));
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
        min-height: max(1.5rem, var(--touch, 0px));
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
    return html`<section class="card stack" aria-label=${say("hand")}>
        <h2>${result === undefined ? say("hand") : say("hand.said", { result: resultText(result.text) })}</h2>
        <p class="small">${say("hand.why")}${ran ? "" : html` <b>${say(last?.number === 1 ? "hand.never-powered" : "hand.not-powered")}</b>`}</p>
        ${
          this.sure === null
            ? html`<div class="row">
                ${RESULTS.map((name) => html`<button ?disabled=${!this.mayWrite || (name === "passed" && !ran)} @click=${() => this.#choose(sheet.id, name)}>${say(`hand.${name}`)}</button>`)}
                ${result === undefined || result.correctable === false ? nothing : html`<button ?disabled=${!this.mayWrite} @click=${() => this.#takeBack(sheet.id, result)}>${say("hand.take-back", { result: resultText(result.text) })}</button>`}
              </div>`
            : html`<p><b>${say("hand.sure")}</b></p>
                <div class="row"><button @click=${this.#notSure}>${say("hand.no")}</button><button class="main" @click=${() => this.#file(sheet.id, "passed")}>${say("hand.yes")}</button></div>`
        }
        <div class="row">
          <button ?disabled=${!this.mayWrite} @click=${() => this.#makeReport(sheet.id)}>${say("report")}</button>
          ${this.report === null ? html`<span class="small soft">${say("report.what")}</span>` : html`<a href=${this.report.url} download=${this.report.name}>${say("save", { name: this.report.name })}</a>`}
        </div>
        <div class="row">
          <button @click=${() => this.#archive(sheet)}>${say("archive")}</button>
          <span class="small soft">${say("archive.what")}</span>
        </div>
        ${problem(this.problem)}
      </section>
      <section class="card" aria-label=${say("runs")}>
        <h2>${say("runs")}</h2>
        ${sheet.runs.length === 0 ? html`<p class="soft">${say("none")}</p>` : sheet.runs.toReversed().map((run) => this.#run(sheet.id, run))}
      </section>
      <section class="card" aria-label=${say("log.label")}>
        <h2>${say("log")}</h2>
        <p class="small soft">${say("log.kept")}</p>
        <ol class="log small">
          ${sheet.events.map((each) => this.#event(sheet.id, each))}
        </ol>
      </section>`;
  }

  #run(job: string, run: WireJobRun) {
    const draw =
      run.verdict === null
        ? run.outcome === null
          ? say("run.no-end")
          : (nothingSentence(run.outcome) ?? say("no-verdict"))
        : classHeadline(run.verdict.class);
    return html`<details @toggle=${(event: Event) => this.#unfold(run.run, (event.target as HTMLDetailsElement).open)}>
      <summary>${say("run.line", { time: momentText(run.startedAt), purpose: known("purpose", run.purpose), draw })}</summary>
      ${this.opened.has(run.run) ? html`<stored-run .job=${job} .run=${run} .notes=${notesOf(this.sheet, run.run)} .mayNote=${this.mayWrite}></stored-run>` : nothing}
    </details>`;
  }

  #event(job: string, { id, at, kind, text, file, correctable }: WireJobEvent) {
    return html`<li>
      <time datetime=${at}>${momentText(at)}</time>
      <b>${known("kind", kind)}</b>
      <div>${file === null ? html`<p class="words">${text}</p>` : html`<kept-file .job=${job} .file=${file}></kept-file>`}
        ${
          id === this.correcting
            ? html`<correct-form .job=${job} .event=${id} @corrected=${() => this.#correct(null)}></correct-form>`
            : correctable && this.mayWrite && PUT_RIGHT.has(kind)
              ? html`<button class="right" @click=${() => this.#correct(id)}>${say("right")}<span class="unseen">: ${text.slice(0, 60)}</span></button>`
              : nothing
        }</div>
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
    const event = { kind: "result" as const, result: "failed" as const, text: say("hand.taken-back") };
    const filed = await jobRecord.file(job, { kind: "correction", of: id, because: say("hand.taken-back.why"), event });
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

/** A kind of event or run as people say it. */
function known(of: "kind" | "purpose", name: string): string {
  const key = `${of}.${name}`;
  return has(key) ? say(key) : name.replaceAll("-", " ");
}

/** "passed", or "failed: no picture": the word is the page's, the rest is a person's. */
const resultText = (text: string): string => text.replace(/^[a-z]+/, stageName);
