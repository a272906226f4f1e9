import { css, html, LitElement, nothing } from "lit";
import type { DrawVerdict } from "../shared/draw-verdict.ts";
import type { RunOutcome } from "../shared/plan.ts";
import type { WireJobRun } from "../shared/wire-job.ts";
import { baseStyle } from "./base-style.ts";
import { duration, scaled } from "./figures.ts";
import { CLASS_WORDS } from "./next-step.ts";

const OUTPUTS = {
  off: "Output confirmed off.",
  on: "The output is still on.",
  unknown: "The output could not be confirmed off.",
};

/** What the draw means, what else it could be, and the sentences and figures it rests on. */
export class VerdictCard extends LitElement {
  static override properties = {
    verdict: { attribute: false },
    outcome: { attribute: false },
    expanded: { attribute: false },
  };
  declare verdict: DrawVerdict | null;
  declare outcome: RunOutcome | null;
  /** Expanded uncertainty (k = 2) of figures, where it is known. */
  declare expanded: WireJobRun["expanded"] | null;

  static override styles = [
    baseStyle,
    css`
      .card {
        display: grid;
        gap: 0.6rem;
        border-left: 6px solid var(--ink);
      }
      .class {
        font-size: 1.5rem;
        line-height: 1.2;
      }
      .because li {
        display: grid;
        grid-template-columns: 1rem minmax(0, 1fr);
      }
      .because li::before {
        content: "–";
      }
      .rivals li {
        display: grid;
        grid-template-columns: 8rem 1fr 3rem;
        gap: 0.5rem;
        align-items: center;
      }
      .rivals li span:last-child {
        text-align: right;
        font-variant-numeric: tabular-nums;
      }
      meter {
        width: 100%;
      }
      dl {
        display: grid;
        grid-template-columns: 1fr auto;
        gap: 0.1rem 1rem;
        font-variant-numeric: tabular-nums;
      }
      dd {
        text-align: right;
      }
      .trip {
        padding: 0.5rem 0.7rem;
        border-radius: 6px;
        background: var(--stop-fill);
        border: 2px solid var(--stop);
      }
      summary {
        min-height: 1.75rem;
        cursor: pointer;
        font-weight: 600;
      }
    `,
  ];

  constructor() {
    super();
    this.verdict = null;
    this.outcome = null;
    this.expanded = null;
  }

  override render() {
    const { verdict, outcome } = this;
    if (verdict === null && outcome === null) return nothing;
    return html`<section class="card" aria-label="Verdict">
      ${verdict === null ? html`<h2>How the run ended</h2>` : html`<div><p class="small soft">Verdict on the draw</p><h2 class="class">${CLASS_WORDS[verdict.class]}${verdict.sub === undefined ? "" : ` (${verdict.sub})`}</h2></div>`}
      ${outcome?.trip == null ? nothing : html`<p class="trip"><b>✕ Cut in ${outcome.trip.stage}${outcome.trip.feed === null ? "" : ` on ${outcome.trip.feed}`}</b>: ${outcome.trip.because}</p>`}
      ${outcome === null ? nothing : html`<p><b>${OUTPUTS[outcome.output]}</b>${outcome.limitToTry === null ? "" : ` Limit to try next: ${outcome.limitToTry.amps} A on ${outcome.limitToTry.feed}.`}</p>`}
      ${verdict === null ? nothing : this.#evidence(verdict)}
    </section>`;
  }

  #evidence(verdict: DrawVerdict) {
    return html`<ul class="because">
        ${verdict.because.map((sentence) => html`<li>${sentence}</li>`)}
      </ul>
      ${
        verdict.candidates.length < 2
          ? nothing
          : html`<ul class="rivals small" aria-label="What it could be">
              ${verdict.candidates.map(
                (each) => html`<li>
                  <span>${each.class}</span><meter min="0" max="1" value=${each.probability} aria-hidden="true"></meter
                  ><span>${Math.round(each.probability * 100)} %</span>
                </li>`,
              )}
            </ul>`
      }
      <details open>
        <summary>Figures${this.expanded?.plateauAmps == null ? "" : ", with their expanded uncertainty (k = 2)"}</summary>
        <dl class="small">
          ${figuresOf(verdict, this.expanded).map(([name, text]) => html`<dt>${name}</dt><dd>${text}</dd>`)}
        </dl>
      </details>`;
  }
}
customElements.define("verdict-card", VerdictCard);

/** Null is "cannot be known", and is said so rather than left out. */
function figuresOf(verdict: DrawVerdict, expanded: WireJobRun["expanded"] | null): [name: string, text: string][] {
  const { features } = verdict;
  const unknown = "cannot be known";
  const say = (value: number | null, text: (value: number) => string): string =>
    value === null ? unknown : text(value);
  const within = (value: number | null | undefined, unit: string): string =>
    value == null ? "" : ` ± ${scaled(value, unit)}`;
  return [
    ["steady current", say(features.plateauAmps, (value) => scaled(value, "A") + within(expanded?.plateauAmps, "A"))],
    ["peak current, at least", say(features.peakAmps, (value) => scaled(value, "A"))],
    ["read every", say(features.sampleIntervalMs, duration)],
    [
      "charge to the first plateau",
      say(features.chargeCoulombs, (value) => scaled(value, "C") + within(expanded?.chargeCoulombs, "C")),
    ],
    ["input capacitance", say(features.inputFarads, (value) => scaled(value, "F"))],
    ["resistance", say(features.shortOhms, (value) => scaled(value, "Ω"))],
    ["time at the limit", say(features.limitedMs, duration)],
    ["period", say(features.periodMs, duration)],
    ["drift", say(features.driftAmpsPerMin, (value) => `${scaled(value, "A")} a minute`)],
    ["energy", say(verdict.energyJoules, (value) => scaled(value, "J"))],
  ];
}
