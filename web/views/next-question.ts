import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import type { Diagnosis, DiagnosisReadings, NextMeasurement } from "../../shared/diagnosis.ts";
import { ohmsIn } from "../../shared/ohms-text.ts";
import { voltsIn } from "../../shared/volts-text.ts";
import { jobRecord } from "../record/job-record.ts";
import { baseStyle } from "./base-style.ts";
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

/** What to measure next with a field for its answer: filed with the job, and weighed at once with all that was read before. */
export class NextQuestion extends LitElement {
  static override properties = {
    diagnosis: { attribute: false },
    readings: { attribute: false },
    job: { type: String },
    mayWrite: { type: Boolean },
    now: { state: true },
    problem: { state: true },
    said: { state: true },
  };
  /** As the sweep ended. */
  declare diagnosis: Diagnosis;
  declare readings: DiagnosisReadings | null;
  declare job: string;
  declare mayWrite: boolean;
  /** With what was answered since; null: nothing yet. */
  declare now: { diagnosis: Diagnosis; readings: DiagnosisReadings } | null;
  declare problem: string;
  declare said: string;

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
    this.now = null;
    this.problem = "";
    this.said = "";
    this.mayWrite = false;
    this.readings = null;
  }

  override willUpdate(changed: PropertyValues): void {
    if (changed.has("diagnosis")) {
      this.now = null;
      this.said = "";
    }
  }

  override render() {
    const diagnosis = this.now?.diagnosis ?? this.diagnosis;
    const [first] = diagnosis.next;
    return html`<div class="stack">
      ${first === undefined || this.readings === null ? nothing : this.#question(first)}
      <diagnosis-card .diagnosis=${diagnosis}></diagnosis-card>
    </div>`;
  }

  #question(next: NextMeasurement) {
    const { in: where, answers } = next.record;
    const unit = UNITS[where] ?? "";
    return html`<section class="card stack" aria-label="Next question">
      <p class="ask">${next.ask}</p>
      <p>${next.because}</p>
      ${
        answers === null
          ? html`<form class="row" @submit=${(event: SubmitEvent) => this.#typed(event, next)}>
              <label class="row"><span class="label">It reads${unit === "" ? "" : `, ${unit}`}</span><input type="text" name="answer" class="short" autocomplete="off" required /></label>
              <button class="main" type="submit" ?disabled=${!this.mayWrite}>File and weigh it</button>
            </form>`
          : html`<div class="row">${answers.map((answer) => html`<button ?disabled=${!this.mayWrite} @click=${() => void this.#take(next, answer, answer)}>${answer.replaceAll("-", " ")}</button>`)}</div>`
      }
      ${this.problem === "" ? nothing : html`<p class="problem" role="alert">✕ ${this.problem}</p>`}
      <p class="small" role="status">${this.said}</p>
    </section>`;
  }

  #typed(event: SubmitEvent, next: NextMeasurement): void {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const text = String(new FormData(form).get("answer") ?? "").trim();
    const unit = UNITS[next.record.in];
    const value = unit === "Ω" ? ohmsIn(text) : voltsIn(text);
    if (unit !== undefined && value === null) {
      this.problem = `"${text}" is not a reading in ${unit}.`;
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
    const before = this.now?.readings ?? this.readings;
    if (before === null) return;
    const { in: where, point } = next.record;
    const group = (before as unknown as Record<string, Record<string, unknown>>)[where] ?? {};
    const readings = { ...before, [where]: { ...group, [point ?? next.measure]: value } } as DiagnosisReadings;
    const filed = await jobRecord.file(this.job, { kind: "note", text: `${next.ask} ${words}` });
    const weighed = filed.ok ? await jobRecord.diagnose(readings) : filed;
    this.problem = weighed.ok ? "" : weighed.because;
    if (!weighed.ok) return;
    this.now = { diagnosis: weighed.value as Diagnosis, readings };
    this.said = `Filed: ${words}. The diagnosis is updated.`;
  }
}
customElements.define("next-question", NextQuestion);
