import { css, html, LitElement, nothing } from "lit";
import type { WireJob } from "../../shared/wire.ts";
import { PLACES, type Place } from "../record/places.ts";
import { baseStyle } from "../views/parts/base-style.ts";
import { say } from "../words/tour.ts";

/** Tern Street's example job, as a rehearsal files it. */
const EXAMPLE = /^Kestrel K2, no picture/;

/** A walk through the six places, a few sentences each; the page stays usable meanwhile, and the cut in its place. */
export class PageTour extends LitElement {
  static override properties = { jobs: { attribute: false }, job: { attribute: false }, step: { state: true } };
  declare jobs: WireJob[];
  /** The job that is open; null: none is. */
  declare job: string | null;
  /** null: no tour is under way. */
  declare step: number | null;

  static override styles = [
    baseStyle,
    css`
      section {
        margin-bottom: 0.8rem;
        border-left: 6px solid var(--calm);
      }
    `,
  ];

  constructor() {
    super();
    this.jobs = [];
    this.job = null;
    this.step = null;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    window.addEventListener("show-tour", this.#begin);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    window.removeEventListener("show-tour", this.#begin);
  }

  override render() {
    const { step } = this;
    const place = step === null ? undefined : PLACES[step]?.place;
    if (step === null || place === undefined) return nothing;
    return html`<section class="card stack" aria-label=${say("label")}>
      <h2 tabindex="-1">${say(`${place}.heading`)} <span class="soft small">${say("of", { step: step + 1, all: PLACES.length })}</span></h2>
      <p role="status">${say(`${place}.says`)}</p>
      <div class="row">
        <button ?disabled=${step === 0} @click=${() => this.#turn(step - 1)}>${say("back")}</button>
        ${step + 1 < PLACES.length ? html`<button class="main" @click=${() => this.#turn(step + 1)}>${say("next")}</button>` : nothing}
        <button @click=${this.#end}>${say("end")}</button>
      </div>
    </section>`;
  }

  readonly #begin = (): void => {
    const example = this.jobs.find((each) => EXAMPLE.test(each.title));
    if (this.job === null && example !== undefined)
      this.dispatchEvent(new CustomEvent("open-job", { detail: example.id }));
    this.#turn(0);
  };

  readonly #end = (): void => {
    this.step = null;
  };

  #turn(step: number): void {
    this.step = step;
    const place: Place = PLACES[step]?.place ?? "board";
    this.dispatchEvent(new CustomEvent("pick-place", { detail: place }));
    void this.updateComplete.then(() => this.renderRoot.querySelector("h2")?.focus());
  }
}
customElements.define("page-tour", PageTour);
