import { css, html, LitElement, nothing } from "lit";
import { sayAmps, sayCoulombs, sayFarads, sayJoules, sayMs, sayOhms } from "../../shared/amounts.ts";
import { CLASS_WORDS } from "../../shared/class-words.ts";
import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import { nothingLearned } from "../../shared/nothing-learned.ts";
import type { RunOutcome } from "../../shared/plan.ts";
import { baseStyle } from "./base-style.ts";
import { momentText } from "./figures.ts";
import { ladder } from "./ladder.ts";
import { stageName } from "./stage-words.ts";

const OUTPUTS = {
  off: "Output confirmed off.",
  on: "The output is still on.",
  unknown: "The output could not be confirmed off.",
};
const SUBS: Record<NonNullable<DrawVerdict["sub"]>, string> = {
  ohmic: "like a resistor",
  junction: "like a diode: check the polarity first",
  "over-demand": "it needs more than the limit",
  leaky: "it leaks more as it gets warm",
  "start-loop": "it starts again and again",
  unknown: "the kind is not known",
};

/** The meaning of the draw, what else it could be, and the sentences and figures it rests on; always with when it was. */
export class VerdictCard extends LitElement {
  static override properties = {
    verdict: { attribute: false },
    outcome: { attribute: false },
    startedAt: { type: String },
    outputNow: { type: String },
  };
  declare verdict: DrawVerdict | null;
  declare outcome: RunOutcome | null;
  /** Wall clock of the run's begin; empty where it is not known. */
  declare startedAt: string;
  /** The state of the outputs now, where that is another thing than at the run's end; empty where nobody looked since. */
  declare outputNow: "" | "off" | "on";

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
        grid-template-columns: minmax(8rem, 14rem) 1fr 3rem;
        gap: 0.5rem;
        align-items: center;
      }
      .rivals li span:last-child {
        text-align: right;
        font-variant-numeric: tabular-nums;
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
    `,
  ];

  constructor() {
    super();
    this.verdict = null;
    this.outcome = null;
    this.startedAt = "";
    this.outputNow = "";
  }

  override render() {
    const { verdict, outcome } = this;
    if (verdict === null && outcome === null) return nothing;
    const trip = outcome?.trip ?? null;
    // A run that the bench or a person ended says nothing of the board: no class, no rivals, no limit to try.
    const nothingHere = outcome === null ? null : nothingLearned(outcome);
    const isBoards = nothingHere === null;
    return html`<section class="card" aria-label="Verdict">
      ${isBoards ? this.#head(verdict) : html`<div><p class="small soft">${this.#when()}</p><h2 class="class">Stopped by ${outcome?.endedBy === "person" ? "hand" : "the bench"}, not by the board</h2></div>`}
      ${trip === null ? nothing : html`<p class="trip told"><b>✕ Cut in ${stageName(trip.stage).toLowerCase()}${trip.feed === null ? "" : ` on ${trip.feed}`}</b>: ${trip.because}</p>`}
      ${isBoards ? nothing : html`<p>${nothingHere}</p>`}
      ${outcome === null ? nothing : html`<p><b>${this.#output(outcome.output)}</b>${!isBoards || outcome.limitToTry === null ? "" : ` Limit to try next: ${outcome.limitToTry.amps} A on ${outcome.limitToTry.feed}.`}</p>`}
      ${verdict === null || !isBoards ? nothing : this.#evidence(verdict)}
    </section>`;
  }

  #when(): string {
    return this.startedAt === "" ? "" : `Run of ${momentText(this.startedAt)}`;
  }

  #head(verdict: DrawVerdict | null) {
    return verdict === null
      ? html`<div><p class="small soft">${this.#when()}</p><h2>How the run ended</h2></div>`
      : html`<div><p class="small soft">Verdict on the draw. ${this.#when()}</p><h2 class="class">${CLASS_WORDS[verdict.class]}</h2>
          ${verdict.sub === undefined ? nothing : html`<p>${SUBS[verdict.sub]}</p>`}</div>`;
  }

  /** At its end, and now where somebody looked since. */
  #output(output: RunOutcome["output"]): string {
    if (output === "unknown" && this.outputNow === "off")
      return "At its end the output could not be confirmed off. It has been proved off since.";
    return OUTPUTS[output];
  }

  #evidence(verdict: DrawVerdict) {
    const { known, unknown } = figuresOf(verdict);
    return html`<ul class="because">
        ${verdict.because.map((sentence) => html`<li class="told">${sentence}</li>`)}
      </ul>
      ${
        verdict.candidates.length < 2
          ? nothing
          : html`<ul class="rivals small" aria-label="What it could be">
              ${verdict.candidates.map(
                (each) => html`<li>
                  <span>${CLASS_WORDS[each.class].split(":")[0]}</span>${ladder(each.probability)}<span>${Math.round(each.probability * 100)} %</span>
                </li>`,
              )}
            </ul>`
      }
      <details>
        <summary>Figures${verdict.uncertainty === undefined ? "" : ", with their expanded uncertainty (k = 2)"}</summary>
        <dl class="small">
          ${known.map(([name, text]) => html`<dt>${name}</dt><dd>${text}</dd>`)}
        </dl>
        ${unknown.length === 0 ? nothing : html`<p class="small soft">Not known from this run: ${unknown.join(", ")}.</p>`}
      </details>`;
  }
}
customElements.define("verdict-card", VerdictCard);

/** The figures that are known, in words with the feeds they are of, and the names of those that are not. */
function figuresOf({ features, uncertainty, energyJoules, sub, recorded }: DrawVerdict): {
  known: [name: string, text: string][];
  unknown: string[];
} {
  type Said = [
    name: string,
    value: number | null,
    text: (value: number, expanded: number | null) => string,
    expanded?: keyof NonNullable<DrawVerdict["uncertainty"]>,
  ];
  const all: Said[] = [
    ["steady current, all feeds together", features.plateauAmps, sayAmps, "plateauAmps"],
    [
      recorded?.coversAll === true ? "greatest current" : "greatest current of one feed, at least",
      features.peakAmps,
      sayAmps,
      "peakAmps",
    ],
    ["read every", features.sampleIntervalMs, sayMs],
    ["charge to the first plateau", features.chargeCoulombs, sayCoulombs, "chargeCoulombs"],
    ["input capacitance", features.inputFarads, sayFarads, "inputFarads"],
    // A junction has a forward voltage, not a resistance.
    ["resistance", sub === "junction" ? null : features.shortOhms, sayOhms, "shortOhms"],
    ["time at the limit", features.limitedMs, sayMs, "limitedMs"],
    ["period", features.periodMs, sayMs, "periodMs"],
    ["energy", energyJoules, sayJoules, "energyJoules"],
  ];
  const known = all.flatMap(([name, value, text, expanded]): [string, string][] =>
    value === null ? [] : [[name, text(value, expanded === undefined ? null : (uncertainty?.[expanded] ?? null))]],
  );
  return { known, unknown: all.flatMap(([name, value]) => (value === null ? [name] : [])) };
}
