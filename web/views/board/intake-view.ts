import { css, html, LitElement, nothing } from "lit";
import type { JobEventOf, JobStage } from "../../../shared/record/job.ts";
import type { WireJob } from "../../../shared/wire.ts";
import type { WireJobSheet } from "../../../shared/wire-job.ts";
import { jobRecord } from "../../record/job-record.ts";
import { baseStyle } from "../parts/base-style.ts";
import { momentText } from "../parts/figures.ts";
import { problem } from "../parts/problem.ts";
import { JOB_STAGES, stageName } from "../parts/stage-names.ts";
import { withHelp } from "../parts/with-help.ts";
import "./job-finder.ts";
import { say } from "../../words/job.ts";

const LINES = ["owner", "serialNumber", "since", "cameWith", "approvedUpTo"] as const;
const WORDS = ["ownersWords", "tried"] as const;
const FACTS = ["liquid", "dropped", "repairedBefore"] as const;

/** The things that came in and the owner's words; a job is opened here, or an earlier one taken up again. */
export class IntakeView extends LitElement {
  static override properties = {
    sheet: { attribute: false },
    jobs: { attribute: false },
    mayWrite: { type: Boolean },
    heard: { type: Boolean },
    problem: { state: true },
  };
  declare sheet: WireJobSheet | null;
  declare jobs: WireJob[];
  declare mayWrite: boolean;
  /** False while nobody knows which jobs there are. */
  declare heard: boolean;
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      .words {
        white-space: pre-wrap;
        overflow-wrap: anywhere;
      }
    `,
  ];

  constructor() {
    super();
    this.sheet = null;
    this.jobs = [];
    this.mayWrite = false;
    this.heard = false;
    this.problem = "";
  }

  override render() {
    return html`<div class="two">
      <div class="stack">
        ${this.sheet === null ? nothing : this.#present(this.sheet)}
        ${this.mayWrite ? this.#form() : nothing}
      </div>
      <job-finder .jobs=${this.jobs} .open=${this.sheet?.id ?? null} .heard=${this.heard} @open-job=${(event: CustomEvent<string>) => this.#open(event.detail)}></job-finder>
    </div>`;
  }

  #present(sheet: WireJobSheet) {
    const intake = sheet.events.findLast((each) => each.kind === "intake");
    const { stage } = this.jobs.find((each) => each.id === sheet.id) ?? {};
    return html`<section class="card stack" aria-label=${say("job.label")}>
      <h2>${sheet.title ?? sheet.board ?? sheet.short}</h2>
      <p class="small soft">${say("job.opened", { short: sheet.short, time: momentText(sheet.createdAt) })}</p>
      ${intake === undefined ? html`<p>${say("intake.none")}</p>` : html`<p class="words">${intake.text}</p>`}
      <label class="row"><span class="label">${say("job.stage")}</span><select ?disabled=${!this.mayWrite} @change=${(event: Event) => void this.#stage(sheet.id, event)}>
        <option value="" ?selected=${stage === undefined}>${say("job.stage.unknown")}</option>
        ${JOB_STAGES.map((each) => html`<option value=${each} ?selected=${each === stage}>${stageName(each)}</option>`)}
      </select></label>
      ${problem(this.problem)}
    </section>`;
  }

  #form() {
    return html`<details class="card" ?open=${this.sheet === null}>
      <summary>${say("job.new")}</summary>
      <form class="stack" @submit=${this.#openNew} @keydown=${this.#onEnter}>
        ${withHelp("title", html`<label><span class="label">${say("intake.title")}</span><input type="text" name="title" maxlength="200" required /></label>`)}
        ${withHelp("symptom", html`<label><span class="label">${say("intake.symptom")}</span><input type="text" name="symptom" maxlength="1000" /></label>`)}
        ${WORDS.map((key) => withHelp(key, html`<label><span class="label">${say(`intake.${key}`)}</span><textarea name=${key} rows="2" maxlength="5000"></textarea></label>`))}
        <div class="two">
          ${LINES.map((key) => withHelp(key, html`<label><span class="label">${say(`intake.${key}`)}</span><input type="text" name=${key} maxlength="200" /></label>`))}
        </div>
        <fieldset>
          <legend>${say("intake.facts")}</legend>
          ${FACTS.map((key) => html`<label class="check"><input type="checkbox" name=${key} />${say(`intake.${key}`)}</label>`)}
        </fieldset>
        <button class="main" type="submit">${say("job.open")}</button>
        ${problem(this.problem)}
      </form>
    </details>`;
  }

  /** Enter goes on to the next field: a job is opened by its own button, not half written. */
  readonly #onEnter = (event: KeyboardEvent): void => {
    const at = event.target;
    if (event.key !== "Enter" || !(at instanceof HTMLInputElement)) return;
    event.preventDefault();
    const all = [...this.renderRoot.querySelectorAll<HTMLElement>("form :is(input, textarea, button)")];
    all[all.indexOf(at) + 1]?.focus();
  };

  readonly #openNew = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const data = new FormData(form);
    const opened = await jobRecord.newJob(String(data.get("title") ?? ""));
    if (!opened.ok) {
      this.problem = opened.because;
      return;
    }
    const intake = intakeOf(data);
    const filed = Object.keys(intake).length > 1 ? await jobRecord.file(opened.value, intake) : null;
    this.problem = filed?.ok === false ? say("intake.unfiled", { because: filed.because }) : "";
    if (this.problem === "") form.reset();
    this.#open(opened.value);
  };

  async #stage(job: string, event: Event): Promise<void> {
    const stage = (event.target as HTMLSelectElement).value;
    if (stage === "") return;
    const filed = await jobRecord.file(job, { kind: "stage", stage: stage as JobStage, text: null });
    this.problem = filed.ok ? "" : filed.because;
  }

  #open(job: string): void {
    this.dispatchEvent(new CustomEvent("open-job", { detail: job }));
  }
}
customElements.define("intake-view", IntakeView);

/** A question that was not asked or answered is left out, never filed as "no". */
function intakeOf(data: FormData): JobEventOf<"intake"> {
  const said = [...LINES, ...WORDS, "symptom" as const].flatMap((key) => {
    const text = String(data.get(key) ?? "").trim();
    return text === "" ? [] : [[key, text]];
  });
  const seen = FACTS.flatMap((key) => (data.get(key) === null ? [] : [[key, true]]));
  return { kind: "intake", ...Object.fromEntries([...said, ...seen]) };
}
