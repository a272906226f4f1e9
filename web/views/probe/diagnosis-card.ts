import { css, html, LitElement, nothing } from "lit";
import type { Diagnosis } from "../../../shared/record/diagnosis.ts";
import { say } from "../../words/record.ts";
import { baseStyle } from "../parts/base-style.ts";

const SHOWN = 5;

/** The faults that fit the readings, and the next measurements with the reasons; first things first. */
export class DiagnosisCard extends LitElement {
  static override properties = { diagnosis: { attribute: false } };
  declare diagnosis: Diagnosis;

  static override styles = [
    baseStyle,
    css`
      .ask {
        font-size: 1.25rem;
        font-weight: 700;
      }
      li {
        padding: 0.35rem 0;
        border-top: 1px solid var(--hair);
      }
      .held {
        padding: 0.5rem 0.7rem;
        border: 2px solid var(--warn);
        border-radius: 6px;
        background: var(--warn-fill);
      }
    `,
  ];

  override render() {
    const { faults, next, held, notes, caution } = this.diagnosis;
    return html`<div class="two">
      <section class="card stack" aria-label=${say("measure")}>
        <h2>${say("measure")}</h2>
        ${held === null ? nothing : html`<p class="held" lang="en">⚠ ${held}</p>`}
        ${next.length === 0 ? html`<p>${say("measure.none")}</p>` : nothing}
        <ol>
          ${next.slice(0, SHOWN).map(
            (each, index) => html`<li>
              <p class=${index === 0 ? "ask" : ""} lang="en">${each.ask}</p>
              <p class="small" lang="en">${each.because}</p>
              <p class="small soft">${say(each.energises ? "measure.powered" : "measure.cost", { measure: each.measure, minutes: each.minutes, risk: each.risk })}</p>
            </li>`,
          )}
        </ol>
      </section>
      <section class="card stack" aria-label=${say("faults")}>
        <h2>${say("faults")}</h2>
        ${caution === undefined ? nothing : html`<p class="small" lang="en">${caution}</p>`}
        <ol>
          ${faults.slice(0, SHOWN).map(
            (fault, index) => html`<li>
              <p><b>${fault.element} ${fault.kind}${fault.also.map((other) => ` ${say("faults.and")} ${other.element} ${other.kind}`).join("")}</b>: ${Math.round(fault.probability * 100)} %</p>
              ${fault.because.slice(0, index === 0 ? fault.because.length : 1).map((sentence) => html`<p class="small" lang="en">– ${sentence}</p>`)}
              ${fault.chipProofs === null || fault.chipProofs >= 2 ? nothing : html`<p class="small"><b>${say(fault.chipProofs === 1 ? "faults.chip.one" : "faults.chip.none")}</b></p>`}
            </li>`,
          )}
        </ol>
        ${notes.map((note) => html`<p class="small soft" lang="en">${note}</p>`)}
      </section>
    </div>`;
  }
}
customElements.define("diagnosis-card", DiagnosisCard);
