import { css, html, LitElement, nothing } from "lit";
import type { SweepWord } from "../../shared/sweep.ts";
import { SWEEP_KEYS, wordFor } from "../page/sweep-keys.ts";
import type { SweepShown } from "../page/sweep-shown.ts";
import { baseStyle } from "./base-style.ts";
import { parseOhms } from "./cold-text.ts";
import { duration } from "./figures.ts";
import { limitsText, MOTIONS, valueText } from "./rail-words.ts";
import "./rail-list.ts";

/** A reading that is older is no live reading. */
const FRESH_MS = 1_000;

/** What a person says to a sweep: a word, or a value read off another meter. It is meant for one rail and no other. */
export type SweepSaid =
  | { says: { word: SweepWord }; rail: string | null }
  | { says: { value: number | "open" }; rail: string };

/** The sweep as both hands need it: which rail, where, what it reads now, all of it to be read from the probes. */
export class SweepView extends LitElement {
  static override properties = {
    sweep: { attribute: false },
    inControl: { type: Boolean },
    mayStart: { type: Boolean },
    live: { type: Boolean },
    nowMs: { type: Number },
    problem: { type: String },
  };
  declare sweep: SweepShown | null;
  declare inControl: boolean;
  declare mayStart: boolean;
  /** False while the daemon is out of hearing. */
  declare live: boolean;
  declare nowMs: number;
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      .running {
        display: grid;
        grid-template-columns: minmax(0, 1.7fr) minmax(15rem, 1fr);
        gap: 0.7rem;
        align-items: start;
      }
      .rail {
        font-size: clamp(2.4rem, 6vw, 5rem);
        font-weight: 800;
        line-height: 1.05;
        overflow-wrap: anywhere;
      }
      .point {
        font-size: clamp(1.25rem, 2.4vw, 1.9rem);
        line-height: 1.25;
        overflow-wrap: anywhere;
      }
      .reading {
        display: flex;
        flex-wrap: wrap;
        gap: 0 1.2rem;
        align-items: baseline;
        font-variant-numeric: tabular-nums;
      }
      .value {
        font-size: clamp(2.4rem, 6vw, 5rem);
        font-weight: 700;
        line-height: 1.1;
        white-space: nowrap;
      }
      .motion {
        font-size: 1.5rem;
        font-weight: 700;
      }
      [data-live="no"] .value {
        color: var(--ink-soft);
        font-weight: 400;
      }
      .question {
        padding: 0.6rem 0.8rem;
        border: 3px solid var(--warn);
        border-radius: 8px;
        background: var(--warn-fill);
        font-size: 1.25rem;
      }
      input.short[type="text"] {
        width: 8rem;
      }
      kbd {
        font: inherit;
        font-weight: 400;
        padding: 0 0.35em;
        border: 1px solid currentcolor;
        border-radius: 4px;
        margin-left: 0.3em;
      }
      @media (max-width: 56rem) {
        .running {
          grid-template-columns: minmax(0, 1fr);
        }
      }
    `,
  ];

  readonly #onKey = (event: KeyboardEvent): void => this.#key(event);

  constructor() {
    super();
    this.sweep = null;
    this.inControl = false;
    this.mayStart = false;
    this.live = false;
    this.nowMs = 0;
    this.problem = "";
  }

  override connectedCallback(): void {
    super.connectedCallback();
    window.addEventListener("keydown", this.#onKey);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    window.removeEventListener("keydown", this.#onKey);
  }

  override render() {
    const { sweep } = this;
    return html`${this.problem === "" ? nothing : html`<p class="problem" role="alert">✕ ${this.problem}</p>`}
      ${sweep !== null && sweep.done === null ? this.#running(sweep) : this.#idle(sweep)}`;
  }

  #idle(sweep: SweepShown | null) {
    return html`<div class="two">
      <section class="card stack" aria-label="Begin a sweep">
        <h2>Walk the rails</h2>
        <p>The rail is named, you place the probe, a steady reading is taken by itself with a tone, you lift, the next is named.</p>
        ${this.inControl ? nothing : html`<div class="row"><button class="main" @click=${() => this.#ask("take-control")}>Take control</button></div>`}
        <div class="row">
          <button ?disabled=${!this.mayStart || !this.inControl} @click=${() => this.#ask("ask-cold-sweep")}>Cold sweep: ohms, nothing energised</button>
          <button @click=${() => this.dispatchEvent(new CustomEvent("pick-step", { detail: "permit" }))}>Powered sweep: by way of the permit</button>
        </div>
      </section>
      ${
        sweep === null
          ? nothing
          : html`<section class="card" aria-label="Last sweep">
              <h2>Last sweep: ${sweep.done?.ended.replace("-", " ") ?? ""}</h2>
              ${sweep.done?.because.map((sentence) => html`<p>${sentence}</p>`)}
              ${sweep.done?.neverPower.map((sentence) => html`<p class="problem">✕ ${sentence}</p>`)}
              <rail-list .rails=${sweep.rails}></rail-list>
            </section>`
      }
    </div>`;
  }

  #running(sweep: SweepShown) {
    const { place, reading } = sweep;
    const fresh = this.live && reading !== null && this.nowMs - sweep.readAtMs < FRESH_MS;
    const unit = place?.quantity === "ohms" ? "Ω" : "V";
    return html`<div class="running">
      <section class="card stack" aria-label="The rail to probe now" data-live=${fresh ? "yes" : "no"}>
        ${
          place === null
            ? html`<p class="rail">${sweep.cooling === null ? "…" : "Off, cooling"}</p>
                <p class="point" role="status">${sweep.cooling === null ? "The board is being brought up, or the last value filed." : `${sweep.cooling.because} On again in ${duration(sweep.cooling.secondsLeft * 1000)}, at the same rail.`}</p>`
            : html`<p class="rail" role="status" data-rail=${place.rail}>${place.rail}<span class="unseen">: ${place.point}</span></p>
                <p class="point" aria-hidden="true">${place.point}</p>
                <p class="soft">${limitsText(place.limits, unit)}; ${place.left} left</p>
                <div class="reading">
                  <span class="value">${fresh ? valueText(reading) : "–"}</span>
                  <span class="motion">${fresh ? MOTIONS[reading.motion] : "no live reading"}</span>
                </div>`
        }
        ${sweep.question === null ? nothing : html`<p class="question" role="alert"><b>?</b> ${sweep.question.because}${sweep.question.fits === null ? "" : ` Is the probe on ${sweep.question.fits}?`} It is measured once more.</p>`}
        ${sweep.hint === null ? nothing : html`<p class="point">${sweep.hint}</p>`}
        <div class="row">
          ${SWEEP_KEYS.map(({ word, shown, says }) => html`<button ?disabled=${!this.inControl || place === null} @click=${() => this.#say(word)}>${says}<kbd>${shown}</kbd></button>`)}
          <button ?disabled=${!this.inControl} @click=${() => this.#say("stop")}>Stop the sweep</button>
        </div>
        ${place === null ? nothing : this.#typed(place.rail, unit)}
      </section>
      <section class="card" aria-label="Rails">
        <h2>${sweep.rails.length} taken${sweep.draw === null ? "" : `; draw: ${sweep.draw.class}`}</h2>
        <rail-list .rails=${sweep.rails}></rail-list>
      </section>
    </div>`;
  }

  #typed(rail: string, unit: string) {
    return html`<form class="row" @submit=${(event: SubmitEvent) => this.#type(event, rail, unit)}>
      <label class="row"><span class="label">Read off another meter, ${unit}</span>
        <input type="text" name="typed" autocomplete="off" class="short" /></label>
      <button type="submit" ?disabled=${!this.inControl}>File it</button>
    </form>`;
  }

  #type(event: SubmitEvent, rail: string, unit: string): void {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const text = String(new FormData(form).get("typed") ?? "").trim();
    const value = unit === "Ω" ? parseOhms(text) : parseVolts(text);
    this.problem = value === null ? `"${text}" is no reading in ${unit}` : "";
    if (value === null) return;
    form.reset();
    this.#send({ says: { value }, rail });
  }

  #key(event: KeyboardEvent): void {
    const { sweep } = this;
    if (this.hidden || !this.inControl || sweep === null || sweep.done !== null || sweep.place === null) return;
    const focus = event.composedPath()[0];
    const element = focus instanceof Element ? focus : null;
    const word = wordFor(event, { tag: element?.tagName ?? "", role: element?.getAttribute("role") ?? null });
    if (word === null) return;
    event.preventDefault();
    this.#say(word);
  }

  #say(word: SweepWord): void {
    this.#send({ says: { word }, rail: this.sweep?.place?.rail ?? null });
  }

  #send(said: SweepSaid): void {
    this.dispatchEvent(new CustomEvent("say-sweep", { detail: said }));
  }

  #ask(name: "take-control" | "ask-cold-sweep"): void {
    this.dispatchEvent(new CustomEvent(name));
  }
}
customElements.define("sweep-view", SweepView);

const parseVolts = (text: string): number | null =>
  /^-?\d+(\.\d+)?\s*V?$/i.test(text) ? Number.parseFloat(text) : null;
