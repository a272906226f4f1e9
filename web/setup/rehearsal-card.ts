import { css, html, LitElement, nothing } from "lit";
import { sayOhms } from "../../shared/words/amounts.ts";
import type { Place } from "../record/places.ts";
import { baseStyle } from "../views/parts/base-style.ts";
import { say } from "../words/setup.ts";
import { local } from "../words/words.ts";
import { setupClient } from "./setup-client.ts";

/** The additions of a rehearsal to the places: the readings a meter would give, the simulated probe, and its end. */
export class RehearsalCard extends LitElement {
  static override properties = {
    place: { type: String },
    rail: { type: String },
    coldOhms: { attribute: false },
    mayWrite: { type: Boolean },
    problem: { state: true },
  };
  declare place: Place;
  /** The rail that a sweep asks for now; empty where none is. */
  declare rail: string;
  declare coldOhms: Record<string, number>;
  declare mayWrite: boolean;
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      section {
        margin-bottom: 0.8rem;
      }
      dl {
        display: flex;
        flex-wrap: wrap;
        gap: 0.2rem 1.2rem;
        font-variant-numeric: tabular-nums;
      }
      dl div {
        display: flex;
        gap: 0.4rem;
      }
      dd {
        font-weight: 700;
      }
    `,
  ];

  constructor() {
    super();
    this.place = "board";
    this.rail = "";
    this.coldOhms = {};
    this.mayWrite = false;
    this.problem = "";
  }

  override render() {
    const { place, rail, mayWrite } = this;
    const cold = Object.entries(this.coldOhms);
    if (place !== "board" && place !== "cold" && place !== "probe") return nothing;
    return html`<section class="card stack" aria-label=${say("rehearsal.label")}>
      ${
        place === "board"
          ? html`<h2>${say("rehearsal.heading")}</h2><p>${say("rehearsal.intro")}</p>
            <div class="row"><button ?disabled=${!mayWrite} @click=${() => this.#do(setupClient.endRehearsal())}>${say("rehearsal.end")}</button></div>`
          : nothing
      }
      ${
        place === "cold" && cold.length > 0
          ? html`<p class="small">${say("rehearsal.cold")}</p>
            <dl>${cold.map(([point, ohms]) => html`<div><dt>${point}</dt><dd>${local(sayOhms(ohms))}</dd></div>`)}</dl>`
          : nothing
      }
      ${
        place === "probe"
          ? html`<div class="row"><b>${say("rehearsal.probe")}</b>
              <button ?disabled=${rail === "" || !mayWrite} @click=${() => this.#do(setupClient.probe(rail))}>${say("rehearsal.put", { point: rail === "" ? "–" : rail })}</button>
              <button ?disabled=${!mayWrite} @click=${() => this.#do(setupClient.probe(null))}>${say("rehearsal.lift")}</button></div>`
          : nothing
      }
      ${this.problem === "" ? nothing : html`<p class="problem" role="alert" lang="en">✕ ${this.problem}</p>`}
    </section>`;
  }

  async #do(asking: Promise<{ ok: true } | { ok: false; because: string }>): Promise<void> {
    const done = await asking;
    this.problem = done.ok ? "" : done.because;
  }
}
customElements.define("rehearsal-card", RehearsalCard);
