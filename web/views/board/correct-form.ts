import { css, html, LitElement, nothing } from "lit";
import { withWords, wordsOf } from "../../../shared/record/corrected-event.ts";
import { HostTest } from "../../../shared/record/host-test.ts";
import { CorrectableEvent, type JobEvent, TAKEN_BACK } from "../../../shared/record/job.ts";
import { jobRecord } from "../../record/job-record.ts";
import { say } from "../../words/record.ts";
import { baseStyle } from "../parts/base-style.ts";
import { parseCold } from "../power/cold-text.ts";

/** Puts right what a person filed: the entry stays, its correction stands beside it with the reason. */
export class CorrectForm extends LitElement {
  static override properties = {
    job: { type: String },
    event: { type: String },
    filed: { state: true },
    problem: { state: true },
  };
  declare job: string;
  /** The id of the entry. */
  declare event: string;
  declare filed: CorrectableEvent | null;
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      form {
        padding: 0.5rem;
        border-left: 4px solid var(--warn);
      }
    `,
  ];

  constructor() {
    super();
    this.job = "";
    this.event = "";
    this.filed = null;
    this.problem = "";
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void this.#read();
  }

  override render() {
    const { filed } = this;
    return html`${this.problem === "" ? nothing : html`<p class="problem small" role="alert">✕ ${this.problem}</p>`}
      ${
        filed === null
          ? nothing
          : html`<form class="stack" @submit=${(event: SubmitEvent) => void this.#file(event, filed)}>
              ${this.#field(filed)}
              <label><span class="label">${say("correct.why")}</span><input type="text" name="because" maxlength="200" required placeholder=${say("correct.why.such")} /></label>
              <div class="row"><button class="main" type="submit">${say("correct.file")}</button>
                <button type="button" @click=${() => this.#done()}>${say("correct.leave")}</button></div>
            </form>`
      }`;
  }

  #field(filed: CorrectableEvent) {
    const now = textOf(filed) ?? "";
    if (filed.kind === "test")
      return html`<label><span class="label">${say("correct.result")}</span><select name="text">
        ${HostTest.shape.result.options.map((each) => html`<option value=${each} ?selected=${each === now} lang="en">${each}</option>`)}
      </select></label>`;
    const field = html`<label><span class="label">${say("correct.text")}</span><textarea name="text" rows="3" maxlength="10000" required .value=${now}></textarea></label>`;
    if (filed.kind !== "answer") return field;
    return html`${field} <button type="button" @click=${this.#notAnswered}>${say("answers.not")}</button>`;
  }

  readonly #notAnswered = (): void => {
    const field = this.renderRoot.querySelector("textarea");
    if (field !== null) field.value = TAKEN_BACK;
  };

  async #read(): Promise<void> {
    const asked = await jobRecord.event(this.job, this.event);
    const parsed = asked.ok ? CorrectableEvent.safeParse(asked.value) : null;
    if (parsed?.success === true && textOf(parsed.data) !== null) this.filed = parsed.data;
    else this.problem = asked.ok ? say("correct.note") : asked.because;
  }

  async #file(event: SubmitEvent, filed: CorrectableEvent): Promise<void> {
    event.preventDefault();
    const data = new FormData(event.target as HTMLFormElement);
    const right = withText(filed, String(data.get("text") ?? "").trim());
    if (typeof right === "string") {
      this.problem = right;
      return;
    }
    const because = String(data.get("because") ?? "").trim();
    const correction: JobEvent = { kind: "correction", of: this.event, because, event: right };
    const asked = await jobRecord.file(this.job, correction);
    this.problem = asked.ok ? "" : asked.because;
    if (asked.ok) this.#done();
  }

  #done(): void {
    this.dispatchEvent(new CustomEvent("corrected"));
  }
}
customElements.define("correct-form", CorrectForm);

/** The part of an entry that is written anew; null for one that is put right in another way. */
const textOf = (event: CorrectableEvent): string | null =>
  event.kind === "cold-readings"
    ? Object.entries(event.ohms)
        .map(([point, ohms]) => `${point} = ${ohms}`)
        .join("\n")
    : wordsOf(event);

/** The entry with that text; a text is why it cannot be. */
function withText(event: CorrectableEvent, text: string): CorrectableEvent | string {
  if (event.kind !== "cold-readings") return withWords(event, text) ?? say("correct.note");
  const parsed = parseCold(text);
  return parsed.ok ? { ...event, ohms: parsed.cold } : parsed.because;
}
