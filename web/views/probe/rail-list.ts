import { css, html, LitElement, nothing } from "lit";
import type { SweepRail } from "../../../shared/sweep.ts";
import { say } from "../../words/probe.ts";
import { baseStyle } from "../parts/base-style.ts";
import { expandedText, limitsText, railVerdict, valueText } from "../parts/rail-words.ts";

/** The points of a sweep with their values, the last taken first: verdict, expanded uncertainty and why. */
export class RailList extends LitElement {
  static override properties = { rails: { attribute: false } };
  declare rails: readonly SweepRail[];

  static override styles = [
    baseStyle,
    css`
      li {
        display: grid;
        grid-template-columns: 1.7rem minmax(0, 1fr) auto;
        gap: 0 0.5rem;
        align-items: baseline;
        padding: 0.3rem 0;
        border-top: 1px solid var(--hair);
      }
      .mark {
        font-weight: 800;
        text-align: center;
        border-radius: 4px;
      }
      [data-tone="good"] .mark {
        color: var(--calm);
      }
      [data-tone="open"] .mark {
        background: var(--warn-fill);
        color: var(--warn);
      }
      [data-tone="bad"] .mark {
        background: var(--stop);
        color: var(--on-stop);
      }
      .value {
        font-weight: 700;
        font-variant-numeric: tabular-nums;
        white-space: nowrap;
      }
      .why {
        grid-column: 2 / 4;
        overflow-wrap: anywhere;
      }
    `,
  ];

  constructor() {
    super();
    this.rails = [];
  }

  override render() {
    return html`<ul aria-label=${say("so-far")}>
      ${this.rails.toReversed().map((rail) => this.#row(rail))}
    </ul>`;
  }

  #row(rail: SweepRail) {
    const { mark, word, tone } = railVerdict(rail);
    const unit = rail.quantity === "ohms" ? "Ω" : "V";
    return html`<li data-tone=${tone}>
      <span class="mark" aria-hidden="true">${mark}</span>
      <span><b>${rail.rail}</b> <span class="small">${word}</span></span>
      <span class="value">${valueText(rail)}<span class="small">${expandedText(rail)}</span></span>
      <span class="why small soft">${rail.group === undefined ? (rail.across === undefined ? limitsText(rail.limits, unit) : "") : say("as-others", { group: rail.group })}${rail.corrects ? say("corrects") : ""}</span>
      ${rail.verdict === "pass" && rail.said === undefined ? nothing : html`<span class="why small" lang="en">${rail.because.join("; ")}</span>`}
      ${rail.neverPower === null ? nothing : html`<span class="why" lang="en"><b>✕ ${rail.neverPower}</b></span>`}
    </li>`;
  }
}
customElements.define("rail-list", RailList);
