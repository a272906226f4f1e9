import { css, html, LitElement, nothing } from "lit";
import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import type { RunOutcome, Trip } from "../../../shared/plan.ts";
import { sayAmps, sayCoulombs, sayFarads, sayJoules, sayMs, sayOhms } from "../../../shared/words/amounts.ts";
import { say } from "../../words/verdict.ts";
import { language, local } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";
import { classHeadline, className, nothingSentence } from "../parts/draw-words.ts";
import { momentText } from "../parts/figures.ts";
import { ladder } from "../parts/ladder.ts";
import { stageName } from "../parts/stage-words.ts";

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
    const nothingHere = outcome === null ? null : nothingSentence(outcome);
    const isBoards = nothingHere === null;
    return html`<section class="card" aria-label=${say("label")}>
      ${isBoards ? this.#head(verdict) : html`<div><p class="small soft">${this.#when()}</p><h2 class="class">${say(outcome?.endedBy === "person" ? "stopped.person" : "stopped.bench")}</h2></div>`}
      ${trip === null ? nothing : html`<p class="trip told"><b>✕ ${cutWords(trip)}</b>: <span lang="en">${trip.because}</span></p>`}
      ${isBoards ? nothing : html`<p>${nothingHere}</p>`}
      ${outcome === null ? nothing : html`<p><b>${this.#output(outcome.output)}</b>${!isBoards || outcome.limitToTry === null ? "" : ` ${say("limit-next", { ...outcome.limitToTry })}`}</p>`}
      ${verdict === null || !isBoards ? nothing : this.#evidence(verdict)}
    </section>`;
  }

  #when(): string {
    return this.startedAt === "" ? "" : say("run", { time: momentText(this.startedAt) });
  }

  #head(verdict: DrawVerdict | null) {
    return verdict === null
      ? html`<div><p class="small soft">${this.#when()}</p><h2>${say("ended")}</h2></div>`
      : html`<div><p class="small soft">${say("draw")} ${this.#when()}</p><h2 class="class">${classHeadline(verdict.class)}</h2>
          ${verdict.sub === undefined ? nothing : html`<p>${say(`sub.${verdict.sub}`)}</p>`}</div>`;
  }

  /** At its end, and now where somebody looked since. */
  #output(output: RunOutcome["output"]): string {
    if (output === "unknown" && this.outputNow === "off") return say("output.since");
    return say(`output.${output}`);
  }

  #evidence(verdict: DrawVerdict) {
    const { known, unknown } = figuresOf(verdict);
    return html`<ul class="because" lang="en">
        ${verdict.because.map((sentence) => html`<li class="told">${sentence}</li>`)}
      </ul>
      ${
        verdict.candidates.length < 2
          ? nothing
          : html`<ul class="rivals small" aria-label=${say("rivals")}>
              ${verdict.candidates.map(
                (each) => html`<li>
                  <span>${className(each.class)}</span>${ladder(each.probability)}<span>${Math.round(each.probability * 100)} %</span>
                </li>`,
              )}
            </ul>`
      }
      <details>
        <summary>${say(verdict.uncertainty === undefined ? "figures" : "figures.expanded")}</summary>
        <dl class="small">
          ${known.map(([name, text]) => html`<dt>${name}</dt><dd>${text}</dd>`)}
        </dl>
        ${unknown.length === 0 ? nothing : html`<p class="small soft">${say("figures.unknown", { names: unknown.join(", ") })}</p>`}
      </details>`;
  }
}
customElements.define("verdict-card", VerdictCard);

/** At which stage of which feed it was cut; English writes a stage small in a sentence. */
function cutWords({ stage, feed }: Trip): string {
  const name = language() === "en" ? stageName(stage).toLowerCase() : stageName(stage);
  return feed === null ? say("cut", { stage: name }) : say("cut.feed", { stage: name, feed });
}

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
    [say("figure.plateau"), features.plateauAmps, sayAmps, "plateauAmps"],
    [say(recorded?.coversAll === true ? "figure.peak" : "figure.peak.one"), features.peakAmps, sayAmps, "peakAmps"],
    [say("figure.interval"), features.sampleIntervalMs, sayMs],
    [say("figure.charge"), features.chargeCoulombs, sayCoulombs, "chargeCoulombs"],
    [say("figure.capacitance"), features.inputFarads, sayFarads, "inputFarads"],
    // A junction has a forward voltage, not a resistance.
    [say("figure.resistance"), sub === "junction" ? null : features.shortOhms, sayOhms, "shortOhms"],
    [say("figure.limited"), features.limitedMs, sayMs, "limitedMs"],
    [say("figure.period"), features.periodMs, sayMs, "periodMs"],
    [say("figure.energy"), energyJoules, sayJoules, "energyJoules"],
  ];
  const known = all.flatMap(([name, value, text, expanded]): [string, string][] =>
    value === null
      ? []
      : [[name, local(text(value, expanded === undefined ? null : (uncertainty?.[expanded] ?? null)))]],
  );
  return { known, unknown: all.flatMap(([name, value]) => (value === null ? [name] : [])) };
}
