import { css, html, LitElement, nothing } from "lit";
import type { WireJobSheet } from "../../../shared/wire-job.ts";
import type { PageState } from "../../page/page-state.ts";
import { isOn } from "../../record/places.ts";
import type { Round } from "../../record/rounds.ts";
import { say } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";
import { clockTime } from "../parts/figures.ts";
import { hostStack } from "../parts/host-stack.ts";
import { nextSteps } from "./next-step.ts";

/** Beside every step: what to do next, the instruments with their warnings, and the daemon's log. */
export class SideNotes extends LitElement {
  static override properties = {
    state: { attribute: false },
    job: { attribute: false },
    sheet: { attribute: false },
    round: { attribute: false },
  };
  declare state: PageState;
  declare job: string | null;
  declare sheet: WireJobSheet | null;
  declare round: Round | null;

  static override styles = [
    baseStyle,
    hostStack,
    css`
      .next {
        border-left: 6px solid var(--calm);
      }
      /* In one column it leads; while something is on, nothing comes before the work. */
      @media (max-width: 56rem), (max-height: 34rem) {
        .next[data-first="yes"] {
          order: -1;
        }
      }
      .next ol {
        counter-reset: step;
        display: grid;
        gap: 0.3rem;
        margin-top: 0.3rem;
      }
      .next li {
        counter-increment: step;
        display: grid;
        grid-template-columns: 1.3rem minmax(0, 1fr);
        font-size: 1.0625rem;
      }
      .next li::before {
        content: counter(step) ".";
        font-weight: 700;
      }
      .warning::before {
        content: "⚠ ";
        color: var(--warn);
      }
      .log li {
        border-top: 1px solid var(--hair);
        padding: 0.2rem 0;
        overflow-wrap: anywhere;
      }
    `,
  ];

  override render() {
    const { bench, log } = this.state;
    return html`<section class="card next" data-first=${isOn(this.state) ? "no" : "yes"} aria-label=${say("side.next")}>
        <h2>${say("side.next")}</h2>
        <ol>
          ${nextSteps(this.state, { job: this.job, sheet: this.sheet, round: this.round }).map((step) => html`<li>${step}</li>`)}
        </ol>
      </section>
      <slot></slot>
      <details class="card small">
        <summary>${say("side.instruments")}${bench !== null && bench.warnings.length > 0 ? `: ⚠ ${bench.warnings.length}` : ""}</summary>
        <ul>
          ${bench?.warnings.map((warning) => html`<li class="warning">${warning}</li>`)}
          ${bench?.instruments.map((each) => html`<li><b>${each.name}</b> ${each.connected ? (each.identity ?? "") : html`<b>${say(each.silent ? "side.silent" : "side.rests")}</b>`}, ${each.address}</li>`)}
        </ul>
      </details>
      <details class="card small">
        <summary>${say("side.log")}</summary>
        <ul class="log" lang="en">
          ${log.toReversed().map((line) => html`<li><span class="soft">${clockTime(line.at)}</span> ${line.level === "info" ? nothing : html`<b>${line.level === "warn" ? "⚠" : "✕"}</b> `}${line.text}</li>`)}
        </ul>
      </details>`;
  }
}
customElements.define("side-notes", SideNotes);
