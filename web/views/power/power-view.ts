import { css, html, LitElement, nothing } from "lit";
import type { WireJobSheet } from "../../../shared/wire-job.ts";
import { mayBeOn, type PageState } from "../../page/page-state.ts";
import type { TraceStore } from "../../page/trace-store.ts";
import { jobRecord } from "../../record/job-record.ts";
import { notesOf, type Round } from "../../record/rounds.ts";
import { say } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";
import { momentText } from "../parts/figures.ts";
import { problem } from "../parts/problem.ts";
import "./permit-list.ts";
import type { RunNote, RunTrace } from "./run-trace.ts";
import "./stage-lead.ts";
import "./starts-card.ts";
import "./verdict-card.ts";

/** The power-up of the job that is open, in one column: its permit, its stages with the trace, its verdict. */
export class PowerView extends LitElement {
  static override properties = {
    state: { attribute: false },
    job: { attribute: false },
    sheet: { attribute: false },
    round: { attribute: false },
    store: { attribute: false },
    isPreparing: { type: Boolean },
    picked: { state: true },
    problem: { state: true },
  };
  declare state: PageState;
  declare job: string | null;
  declare sheet: WireJobSheet | null;
  declare round: Round | null;
  declare store: TraceStore;
  /** True while a start is being confirmed: what was before makes room for it. */
  declare isPreparing: boolean;
  /** The feed to draw where the person chose one; otherwise the run's own. */
  declare picked: string | null;
  /** Why a note was not filed. */
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      .run {
        display: grid;
        grid-template-columns: minmax(0, 1fr);
        gap: 0.7rem;
        margin-bottom: 0.7rem;
      }
      .when {
        font-size: 1rem;
      }
      run-trace {
        height: clamp(19rem, 48vh, 40rem);
      }
      /* Narrow, the feeds and the tools take lines of their own. */
      @media (max-width: 56rem) {
        run-trace {
          height: 32rem;
        }
      }
      .other {
        border-left: 6px solid var(--warn);
      }
    `,
  ];

  constructor() {
    super();
    this.isPreparing = false;
    this.picked = null;
    this.problem = "";
  }

  override render() {
    const { state, job, round } = this;
    const { run } = state;
    const isHere = run !== null && (run.job === job || job === null) && (round === null || round.isLast);
    // A run that the record does not have yet is of this round; one that it has may be of an earlier one.
    const isFiled = this.sheet?.runs.some((each) => each.run === run?.run) === true;
    const isNew = !isFiled || round === null || round.runs.some((each) => each.run === run?.run);
    if (isHere && isNew) return html`${this.isPreparing && run.outcome !== null ? nothing : this.#live()}<slot></slot>`;
    const last = round?.runs.at(-1);
    return html`${run !== null && run.outcome === null && run.job !== job ? this.#elsewhere(run.job) : nothing}
      ${
        last === undefined || job === null || this.isPreparing
          ? nothing
          : html`<section class="run" aria-label=${say("power.last")}><h2 class="when">${say("power.filed", { time: momentText(last.startedAt) })}</h2>
              <stored-run .job=${job} .run=${last} .notes=${this.#notes(last.run)} .mayNote=${state.mayOperate} data-run=${last.run}></stored-run></section>`
      }
      <slot></slot>`;
  }

  /** Draws what came since; called with each beat at which there are figures. */
  figures(): void {
    const trace = this.renderRoot.querySelector<RunTrace>("run-trace");
    if (trace !== null) trace.version = this.store.version;
  }

  #live() {
    const { state } = this;
    const { run, verdict, permit } = state;
    if (run === null) return nothing;
    const running = run.outcome === null;
    const outputNow = state.phase === "live" && !mayBeOn(state) ? "off" : "";
    const judged = verdict?.run === run.run ? verdict.verdict : null;
    return html`${state.cycles === null || state.cycles.job !== this.job ? nothing : html`<starts-card .cycles=${state.cycles}></starts-card>`}<section class="run" aria-label=${say("power.label")}>
      <h2 class="when">${say(!running ? "power.run" : judged === null ? "power.of" : "power.in", { time: momentText(run.startedAt) })}</h2>
      ${running ? html`<stage-lead .run=${run} .frozen=${state.phase !== "live"}></stage-lead>` : nothing}
      ${judged === null && run.outcome === null ? nothing : html`<verdict-card .verdict=${judged} .outcome=${run.outcome} .startedAt=${run.startedAt} .outputNow=${outputNow}></verdict-card>`}
      <run-trace
        .store=${this.store}
        .run=${run}
        .feed=${this.#drawn()}
        .feeds=${state.bench?.feeds.map((feed) => feed.feed) ?? []}
        .version=${this.store.version}
        .frozen=${state.phase !== "live"}
        .notes=${this.#notes(run.run)}
        .mayNote=${state.mayOperate && run.job === this.job && this.job !== null}
        @note-run=${(event: CustomEvent<RunNote>) => void this.#note(run.run, event.detail)}
        @pick-feed=${(event: CustomEvent<string>) => {
          this.picked = event.detail;
        }}
      ></run-trace>
      ${problem(this.problem)}
      ${run.told === undefined ? nothing : html`<section class="card" aria-label=${say("power.beside")}><ul lang="en">${run.told.map((sentence) => html`<li class="told">${sentence}</li>`)}</ul></section>`}
      ${running ? nothing : html`<stage-lead .run=${run}></stage-lead>`}
      ${running && permit !== null ? html`<details class="card"><summary>${say(permit.granted ? "power.permit.granted" : "power.permit.refused")}</summary><permit-list .permit=${permit}></permit-list></details>` : nothing}
    </section>`;
  }

  #notes(run: string): RunNote[] {
    return notesOf(this.sheet, run);
  }

  async #note(run: string, { atMs, text }: RunNote): Promise<void> {
    if (this.job === null) return;
    const filed = await jobRecord.file(this.job, { kind: "note", text, of: { run, atMs } });
    this.problem = filed.ok ? "" : filed.because;
  }

  /** Something is on that is not this job's. */
  #elsewhere(job: string | null) {
    const title = this.state.jobs.find((each) => each.id === job)?.title ?? say("job.another");
    return html`<section class="card other row" role="status" aria-label=${say("power.elsewhere")}>
      <p><b>${say("power.elsewhere.whose", { job: title })}</b> ${say("power.elsewhere.why")}</p>
      ${job === null ? nothing : html`<button @click=${() => this.dispatchEvent(new CustomEvent("open-job", { detail: job }))}>${say("power.elsewhere.open")}</button>`}
    </section>`;
  }

  #drawn(): string {
    const { run, bench } = this.state;
    return this.picked ?? run?.outcome?.trip?.feed ?? run?.feed ?? this.store.busiest() ?? bench?.feeds[0]?.feed ?? "";
  }
}
customElements.define("power-view", PowerView);
