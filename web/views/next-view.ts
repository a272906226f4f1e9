import { css, html, LitElement } from "lit";
import type { PageState } from "../page/page-state.ts";
import { baseStyle } from "./base-style.ts";
import { nextSteps } from "./next-step.ts";
import "./diagnosis-card.ts";
import "./rail-list.ts";

/** What to measure next: the diagnosis of the last sweep where there was one, otherwise what the verdict asks for. */
export class NextView extends LitElement {
  static override properties = { state: { attribute: false } };
  declare state: PageState;

  static override styles = [
    baseStyle,
    css`
      .steps {
        font-size: 1.375rem;
        display: grid;
        gap: 0.6rem;
      }
      .steps li::before {
        content: "→ ";
        font-weight: 800;
      }
    `,
  ];

  override render() {
    const done = this.state.sweep?.done ?? null;
    if (done === null || done.diagnosis === null) {
      return html`<section class="card stack" aria-label="Next measurement">
        <h2>Next measurement</h2>
        <ol class="steps">
          ${nextSteps(this.state).map((step) => html`<li>${step}</li>`)}
        </ol>
        <p class="small soft">A sweep of the rails tells more: its readings are weighed against every way the board can fail.</p>
      </section>`;
    }
    return html`<div class="stack">
      ${done.neverPower.map((sentence) => html`<p class="problem">✕ ${sentence}</p>`)}
      <diagnosis-card .diagnosis=${done.diagnosis}></diagnosis-card>
      <section class="card" aria-label="Readings of the sweep">
        <h2>What it rests on</h2>
        <rail-list .rails=${done.rails}></rail-list>
      </section>
    </div>`;
  }
}
customElements.define("next-view", NextView);
