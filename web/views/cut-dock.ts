import { css, html, LitElement, nothing } from "lit";
import type { WireRun } from "../../shared/wire.ts";
import { keyName } from "../page/cut-key.ts";
import { baseStyle } from "./base-style.ts";
import { duration } from "./figures.ts";
import { STAGE_WORDS } from "./stage-words.ts";

/** Always at the bottom, always the same: what is being waited for, an orderly end, and the cut at the right. */
export class CutDock extends LitElement {
  static override properties = {
    run: { attribute: false },
    waitedMs: { type: Number },
    footKey: { type: String },
    on: { type: Boolean },
    said: { type: String },
    feeds: { type: Number },
    hasKeys: { type: Boolean },
  };
  declare run: WireRun | null;
  declare waitedMs: number;
  declare footKey: string;
  /** True while something is on or not known to be off. */
  declare on: boolean;
  /** What came of the last cut. */
  declare said: string;
  /** How many feeds the bench has; without one, nothing here can be switched. */
  declare feeds: number;
  /** False while another window has the keyboard: no key of this page is heard then. */
  declare hasKeys: boolean;

  static override styles = [
    baseStyle,
    css`
      .dock {
        display: flex;
        align-items: stretch;
        gap: 1rem;
        padding: 0.6rem 1rem;
        background: var(--sheet);
        border-top: 2px solid var(--ink);
      }
      .now {
        flex: 1;
        min-width: 0;
        display: grid;
        align-content: center;
        gap: 0.25rem;
      }
      .now p:first-child {
        font-size: 1.25rem;
        font-weight: 700;
        overflow-wrap: anywhere;
      }
      .deaf {
        padding: 0.1rem 0.5rem;
        border: 2px dashed var(--warn);
        border-radius: 6px;
        background: var(--warn-fill);
        color: var(--warn);
      }
      progress {
        width: 100%;
        height: 0.6rem;
        accent-color: var(--calm);
      }
      .cut {
        flex: none;
        width: min(21rem, 45vw);
        min-height: 4.5rem;
        border: 4px solid var(--stop);
        border-radius: 14px;
        background: var(--cut);
        color: #fff;
        font-size: 1.9rem;
        font-weight: 800;
        line-height: 1.1;
        letter-spacing: 0.06em;
      }
      .cut small {
        display: block;
        font-size: 0.95rem;
        font-weight: 600;
        letter-spacing: 0;
      }
      @media (max-width: 40rem) {
        .dock {
          flex-wrap: wrap;
          justify-content: flex-end;
          gap: 0.3rem 0.6rem;
          padding: 0.4rem 0.6rem;
        }
        .now {
          flex: 1 0 100%;
        }
        .now p:first-child {
          font-size: 1.0625rem;
        }
        .cut {
          width: 60vw;
        }
      }
    `,
  ];

  constructor() {
    super();
    this.run = null;
    this.waitedMs = 0;
    this.footKey = " ";
    this.on = false;
    this.said = "";
    this.feeds = 0;
    this.hasKeys = true;
  }

  override render() {
    const running = this.run !== null && this.run.outcome === null ? this.run : null;
    const keys = this.on ? `Esc or ${keyName(this.footKey)}` : "Esc";
    return html`<div class="dock">
      <div class="now">
        ${running === null ? html`<p>${this.#rest()}</p>` : this.#waiting(running)}
        ${this.on && !this.hasKeys ? html`<p class="deaf"><b>⚠ The keyboard is with another window: no key cuts now. Click this page.</b></p>` : nothing}
        <p class="small" role="status">${this.said}</p>
      </div>
      ${running === null ? nothing : html`<button @click=${() => this.dispatchEvent(new CustomEvent("ask-stop"))}>End in order</button>`}
      <button class="cut" @click=${() => this.dispatchEvent(new CustomEvent("ask-cut"))}>CUT<small>everything off now: ${keys}</small></button>
    </div>`;
  }

  #rest(): string {
    if (this.on) return "An output is on, or not known to be off";
    return this.feeds === 0 ? "No bench here: only the record can be looked at" : "Nothing is on";
  }

  #waiting(run: WireRun) {
    const name = STAGE_WORDS[run.stage].name;
    const expected = run.expectedMs;
    const times =
      expected === null ? duration(this.waitedMs) : `${duration(this.waitedMs)} of about ${duration(expected)}`;
    return html`<p>${name}${run.feed === null ? "" : ` ${run.feed}`}: ${run.waitingFor}</p>
      ${
        expected === null
          ? html`<p class="small soft">${times}</p>`
          : html`<progress max=${expected} .value=${Math.min(expected, this.waitedMs)} aria-label="${name}: ${times}"></progress>
              <p class="small soft">${times}</p>`
      }`;
  }
}
customElements.define("cut-dock", CutDock);
