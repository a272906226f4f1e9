import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import type { Diagnosis, DiagnosisReadings, NextMeasurement } from "../../../shared/record/diagnosis.ts";
import type { JobEvent } from "../../../shared/record/job.ts";
import type { JobDiagnosis } from "../../../shared/wire-job.ts";
import { ohmsIn } from "../../../shared/words/ohms-text.ts";
import { voltsIn } from "../../../shared/words/volts-text.ts";
import { jobRecord } from "../../record/job-record.ts";
import { say } from "../../words/record.ts";
import { baseStyle } from "../parts/base-style.ts";
import { problem } from "../parts/problem.ts";
import type { TypedValue } from "./answers-card.ts";
import "./answers-card.ts";
import "./diagnosis-card.ts";

/** The readings a question's answer goes into, with the unit it is asked in. */
const UNITS: Record<string, string> = {
  coldOhms: "Ω",
  coldOhmsReversed: "Ω",
  coldOhmsFourWire: "Ω",
  volts: "V",
  signals: "V",
  again: "V",
};

/** The next measurement with a field for its answer: filed with the job, and weighed at once with all that was filed before. */
export class NextQuestion extends LitElement {
  static override properties = {
    diagnosis: { attribute: false },
    readings: { attribute: false },
    job: { type: String },
    events: { type: Number },
    shown: { type: Boolean },
    mayWrite: { type: Boolean },
    now: { state: true },
    problem: { state: true },
    said: { state: true },
  };
  /** As the last sweep ended; null where there was none. */
  declare diagnosis: Diagnosis | null;
  declare readings: DiagnosisReadings | null;
  declare job: string;
  /** The number of events of the job: with another one all is weighed anew. */
  declare events: number;
  /** False while another place is looked at: nothing is weighed for nobody. */
  declare shown: boolean;
  declare mayWrite: boolean;
  /** As the record has it now; null: it does not say. */
  declare now: JobDiagnosis | null;
  declare problem: string;
  declare said: string;
  /** Volts that were read off another meter here: the record has no place for them but the note. */
  #typed: Partial<Record<string, Record<string, number | string>>> = {};
  #weighed = "";

  static override styles = [
    baseStyle,
    css`
      .ask {
        font-size: 1.5rem;
        font-weight: 700;
        line-height: 1.25;
      }
      .card {
        border-left: 6px solid var(--calm);
      }
      input.short[type="text"] {
        width: 8rem;
      }
    `,
  ];

  constructor() {
    super();
    this.diagnosis = null;
    this.readings = null;
    this.job = "";
    this.events = 0;
    this.shown = false;
    this.now = null;
    this.problem = "";
    this.said = "";
    this.mayWrite = false;
  }

  override willUpdate(changed: PropertyValues): void {
    if (changed.has("job")) {
      this.now = null;
      this.said = "";
      this.#typed = {};
    }
    const wanted = `${this.job} ${this.events}`;
    if (!this.shown || this.#weighed === wanted) return;
    this.#weighed = wanted;
    void this.#weigh();
  }

  override render() {
    const diagnosis = this.now?.diagnosis ?? this.diagnosis;
    if (diagnosis === null) return nothing;
    const [first] = diagnosis.next;
    return html`<div class="stack">
      ${first === undefined || (this.now?.readings ?? this.readings) === null ? nothing : this.#question(first)}
      <diagnosis-card .diagnosis=${diagnosis}></diagnosis-card>
      <answers-card .answered=${this.now?.answered ?? []} .typed=${this.#typedHere()} .job=${this.job} .mayWrite=${this.mayWrite}
        @corrected=${() => void this.#corrected()} @forget=${(event: CustomEvent<TypedValue>) => void this.#forget(event.detail)}></answers-card>
    </div>`;
  }

  #question(next: NextMeasurement) {
    const { in: where, answers } = next.record;
    const unit = UNITS[where] ?? "";
    return html`<section class="card stack" aria-label=${say("question")}>
      <p class="ask" lang="en">${next.ask}</p>
      <p lang="en">${next.because}</p>
      ${
        answers === null
          ? html`<form class="row" @submit=${(event: SubmitEvent) => this.#onTyped(event, next)}>
              <label class="row"><span class="label">${unit === "" ? say("question.reads") : say("question.reads.unit", { unit })}</span><input type="text" name="answer" class="short" autocomplete="off" required /></label>
              <button class="main" type="submit" ?disabled=${!this.mayWrite}>${say("question.file")}</button>
            </form>`
          : html`<div class="row" lang="en">${answers.map((answer) => html`<button ?disabled=${!this.mayWrite} @click=${() => void this.#take(next, answer, answer)}>${answer.replaceAll("-", " ")}</button>`)}</div>`
      }
      ${problem(this.problem)}
      <p class="small" role="status">${this.said}</p>
    </section>`;
  }

  #onTyped(event: SubmitEvent, next: NextMeasurement): void {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const text = String(new FormData(form).get("answer") ?? "").trim();
    const unit = UNITS[next.record.in];
    const value = unit === "Ω" ? ohmsIn(text) : voltsIn(text);
    if (unit !== undefined && value === null) {
      this.problem = say("question.wrong", { text, unit: unit ?? "" });
      return;
    }
    form.reset();
    void this.#take(
      next,
      unit === undefined ? text : (value ?? text),
      `${text}${unit === undefined ? "" : ` ${unit}`}`,
    );
  }

  async #take(next: NextMeasurement, value: number | string, words: string): Promise<void> {
    const { in: where, point } = next.record;
    const event = eventOf(next, value, words);
    if (event.kind === "note") {
      const group = this.#typed[where] ?? {};
      this.#typed = { ...this.#typed, [where]: { ...group, [point ?? next.measure]: value } };
    }
    const filed = await jobRecord.file(this.job, event);
    this.problem = filed.ok ? "" : filed.because;
    if (!filed.ok) return;
    this.said = say("question.filed", { words });
    await this.#weigh();
  }

  #typedHere(): TypedValue[] {
    return Object.entries(this.#typed).flatMap(([where, values]) =>
      Object.entries(values ?? {}).map(([point, value]) => ({ where, point, value: `${value} ${UNITS[where] ?? ""}` })),
    );
  }

  async #corrected(): Promise<void> {
    this.said = say("answers.corrected");
    await this.#weigh();
  }

  /** Its note stays in the log; it is weighed no more. */
  async #forget({ where, point }: TypedValue): Promise<void> {
    const { [point]: _, ...others } = this.#typed[where] ?? {};
    const { [where]: __, ...rest } = this.#typed;
    this.#typed = Object.keys(others).length === 0 ? rest : { ...rest, [where]: others };
    await this.#corrected();
  }

  /** All that is filed, and what was typed here over it. */
  async #weigh(): Promise<void> {
    const { job } = this;
    const asked = await jobRecord.diagnosis(job);
    if (job !== this.job) return;
    const base = asked.ok ? asked.value.readings : this.readings;
    if (base === null) return;
    if (Object.keys(this.#typed).length === 0) {
      this.now = asked.ok ? asked.value : null;
      return;
    }
    const over = base as unknown as Record<string, object>;
    const laid = Object.fromEntries(
      Object.entries(this.#typed).map(([where, values]) => [where, { ...over[where], ...values }]),
    );
    const readings = { ...base, ...laid } as DiagnosisReadings;
    const weighed = await jobRecord.diagnose(readings);
    this.problem = weighed.ok ? "" : weighed.because;
    const answered = asked.ok ? asked.value.answered : [];
    if (weighed.ok && job === this.job) this.now = { readings, diagnosis: weighed.value, answered };
  }
}
customElements.define("next-question", NextQuestion);

/** The answer as the record takes it in: ohms as cold readings, a choice as an answer; volts off another meter stand in a note. */
function eventOf({ ask, measure, record }: NextMeasurement, value: number | string, words: string): JobEvent {
  const { in: where, point, answers } = record;
  if (answers !== null) return { kind: "answer", to: point ?? measure, answer: String(value) };
  const ohms = typeof value === "number" || value === "open" ? value : null;
  if ((where === "coldOhms" || where === "coldOhmsFourWire") && point !== null && ohms !== null)
    return {
      kind: "cold-readings",
      ohms: { [point]: ohms },
      by: "hand",
      boardCelsius: null,
      ...(where === "coldOhmsFourWire" ? { fourWire: [point] } : {}),
    };
  return { kind: "note", text: `${ask} ${words}` };
}
