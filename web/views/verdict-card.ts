import { css, html, LitElement, nothing } from "lit";
import { sayAmps, sayCoulombs, sayFarads, sayJoules, sayMs, sayOhms } from "../../shared/amounts.ts";
import { CLASS_WORDS } from "../../shared/class-words.ts";
import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import { nothingLearned } from "../../shared/nothing-learned.ts";
import type { RunOutcome } from "../../shared/plan.ts";
import { baseStyle } from "./base-style.ts";

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
  };
  declare verdict: DrawVerdict | null;
  declare outcome: RunOutcome | null;

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
  }

  override render() {
    const { verdict, outcome } = this;
    if (verdict === null && outcome === null) return nothing;
    const nothingHere = outcome === null ? null : nothingLearned(outcome);
    return html`<section class="card" aria-label="Verdict">
      ${verdict === null ? html`<h2>How the run ended</h2>` : html`<div><p class="small soft">Verdict on the draw</p><h2 class="class">${CLASS_WORDS[verdict.class]}${verdict.sub === undefined ? "" : ` (${verdict.sub})`}</h2></div>`}
      ${outcome?.trip == null ? nothing : html`<p class="trip"><b>✕ Cut in ${outcome.trip.stage}${outcome.trip.feed === null ? "" : ` on ${outcome.trip.feed}`}</b>: ${outcome.trip.because}</p>`}
      ${outcome === null ? nothing : html`<p><b>${OUTPUTS[outcome.output]}</b>${outcome.limitToTry === null ? "" : ` Limit to try next: ${outcome.limitToTry.amps} A on ${outcome.limitToTry.feed}.`}</p>`}
      ${nothingHere === null ? nothing : html`<p>${nothingHere}</p>`}
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
        <summary>Figures${verdict.uncertainty === undefined ? "" : ", with their expanded uncertainty (k = 2)"}</summary>
        <dl class="small">
          ${figuresOf(verdict).map(([name, text]) => html`<dt>${name}</dt><dd>${text}</dd>`)}
        </dl>
      </details>`;
  }
}
customElements.define("verdict-card", VerdictCard);

/** Null is "cannot be known", and is said so rather than left out. */
function figuresOf({ features, uncertainty, energyJoules }: DrawVerdict): [name: string, text: string][] {
  const say = (
    value: number | null,
    text: (value: number, expanded: number | null) => string,
    expanded?: keyof NonNullable<DrawVerdict["uncertainty"]>,
  ): string =>
    value === null ? "cannot be known" : text(value, expanded === undefined ? null : (uncertainty?.[expanded] ?? null));
  return [
    ["steady current", say(features.plateauAmps, sayAmps, "plateauAmps")],
    ["peak current, at least", say(features.peakAmps, sayAmps, "peakAmps")],
    ["read every", say(features.sampleIntervalMs, sayMs)],
    ["charge to the first plateau", say(features.chargeCoulombs, sayCoulombs, "chargeCoulombs")],
    ["input capacitance", say(features.inputFarads, sayFarads, "inputFarads")],
    ["resistance", say(features.shortOhms, sayOhms, "shortOhms")],
    ["time at the limit", say(features.limitedMs, sayMs, "limitedMs")],
    ["period", say(features.periodMs, sayMs, "periodMs")],
    [
      "drift",
      say(features.driftAmpsPerMin, (value, expanded) => `${sayAmps(value, expanded)} a minute`, "driftAmpsPerMin"),
    ],
    ["energy", say(energyJoules, sayJoules, "energyJoules")],
  ];
}
