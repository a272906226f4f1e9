import { css, html, LitElement, nothing } from "lit";
import { TAKEN_BACK } from "../../../shared/record/job.ts";
import type { WireAnswered } from "../../../shared/wire-job.ts";
import { jobRecord } from "../../record/job-record.ts";
import { say } from "../../words/record.ts";
import { baseStyle } from "../parts/base-style.ts";

/** A value that was typed here and stands in the record as a note only. */
export interface TypedValue {
  where: string;
  point: string;
  value: string;
}

/** The answers that the diagnosis rests on; each can be answered anew or taken back, and the record keeps both. */
export class AnswersCard extends LitElement {
  static override properties = {
    answered: { attribute: false },
    typed: { attribute: false },
    job: { type: String },
    mayWrite: { type: Boolean },
    correcting: { state: true },
    problem: { state: true },
  };
  declare answered: readonly WireAnswered[];
  declare typed: readonly TypedValue[];
  declare job: string;
  declare mayWrite: boolean;
  /** The entry whose form is open; null: none. */
  declare correcting: string | null;
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      li {
        padding: 0.35rem 0;
        border-top: 1px solid var(--hair);
      }
      form {
        margin-top: 0.3rem;
        padding: 0.5rem;
        border-left: 4px solid var(--warn);
      }
    `,
  ];

  constructor() {
    super();
    this.answered = [];
    this.typed = [];
    this.job = "";
    this.mayWrite = false;
    this.correcting = null;
    this.problem = "";
  }

  override render() {
    if (this.answered.length === 0 && this.typed.length === 0) return nothing;
    return html`<section class="card" aria-label=${say("answers")}>
      <h2>${say("answers")}</h2>
      <ul>
        ${this.answered.map((each) => this.#answer(each))}
        ${this.typed.map(
          (each) => html`<li class="row"><span lang="en">${each.point}: <b>${each.value}</b></span>
            <button ?disabled=${!this.mayWrite} @click=${() => this.#forget(each)}>${say("answers.forget")}<span class="unseen">: ${each.point}</span></button></li>`,
        )}
      </ul>
    </section>`;
  }

  #answer(each: WireAnswered) {
    const { entry, to, answer } = each;
    return html`<li>
      <div class="row"><span lang="en">${to}: <b>${inWords(answer)}</b></span>
        ${this.correcting === entry ? nothing : html`<button ?disabled=${!this.mayWrite} @click=${() => this.#open(entry)}>${say("answers.wrong")}<span class="unseen">: ${to}</span></button>`}</div>
      ${this.correcting === entry ? this.#form(each) : nothing}
    </li>`;
  }

  #form(each: WireAnswered) {
    const others = each.choices.filter((choice) => choice !== each.answer);
    return html`<form class="stack" @submit=${(event: SubmitEvent) => void this.#file(event, each)}>
      <label><span class="label">${say("answers.now")}</span><select name="answer">
        <option value=${TAKEN_BACK}>${say("answers.not")}</option>
        ${others.map((choice) => html`<option value=${choice} lang="en">${inWords(choice)}</option>`)}
      </select></label>
      <label><span class="label">${say("correct.why")}</span><input type="text" name="because" maxlength="200" required placeholder=${say("correct.why.such")} /></label>
      <div class="row"><button class="main" type="submit" ?disabled=${!this.mayWrite}>${say("correct.file")}</button>
        <button type="button" @click=${() => this.#open(null)}>${say("correct.leave")}</button></div>
      ${this.problem === "" ? nothing : html`<p class="problem small" role="alert">✕ ${this.problem}</p>`}
    </form>`;
  }

  #open(entry: string | null): void {
    this.correcting = entry;
    this.problem = "";
  }

  async #file(event: SubmitEvent, { entry, to }: WireAnswered): Promise<void> {
    event.preventDefault();
    const data = new FormData(event.target as HTMLFormElement);
    const answer = String(data.get("answer"));
    const because = String(data.get("because")).trim();
    if (because === "") {
      this.problem = say("answers.no-why");
      return;
    }
    const filed = await jobRecord.file(this.job, {
      kind: "correction",
      of: entry,
      because,
      event: { kind: "answer", to, answer },
    });
    this.problem = filed.ok ? "" : filed.because;
    if (!filed.ok) return;
    this.correcting = null;
    this.dispatchEvent(new CustomEvent("corrected"));
  }

  #forget(value: TypedValue): void {
    this.dispatchEvent(new CustomEvent<TypedValue>("forget", { detail: value }));
  }
}
customElements.define("answers-card", AnswersCard);

const inWords = (answer: string): string => answer.replaceAll("-", " ");
