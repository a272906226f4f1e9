import { css, html, LitElement, nothing } from "lit";
import { keyName } from "../page/cut-key.ts";
import type { PageState } from "../page/page-state.ts";
import { baseStyle } from "./base-style.ts";

const PHASES: Record<PageState["phase"], { mark: string; text: string }> = {
  connecting: { mark: "…", text: "connecting" },
  live: { mark: "●", text: "live" },
  lost: { mark: "✕", text: "daemon out of hearing, trying again" },
  "no-session": { mark: "✕", text: "this page has no session" },
  "other-protocol": { mark: "✕", text: "this page and the daemon do not fit" },
};

/** Which board and job, how the page stands to the daemon, who is in control, tones, and the key of the foot switch. */
export class PageHead extends LitElement {
  static override properties = {
    state: { attribute: false },
    jobName: { type: String },
    sound: { type: Boolean },
    footKey: { type: String },
    choosingKey: { type: Boolean },
    mayChooseKey: { type: Boolean },
  };
  declare state: PageState;
  declare jobName: string;
  declare sound: boolean;
  declare footKey: string;
  declare choosingKey: boolean;
  declare mayChooseKey: boolean;

  static override styles = [
    baseStyle,
    css`
      .head {
        display: flex;
        flex-wrap: wrap;
        align-items: center;
        gap: 0.3rem 1.2rem;
        padding: 0.35rem 1rem;
      }
      h1 {
        margin: 0;
        font-size: 1.25rem;
        letter-spacing: -0.01em;
      }
      .badge {
        padding: 0.05rem 0.5rem;
        border: 1px solid var(--line);
        border-radius: 99px;
      }
      .spread {
        flex: 1;
      }
      button {
        min-height: 2rem;
        padding: 0.1rem 0.7rem;
        border-width: 1px;
      }
      .phase[data-phase="lost"],
      .phase[data-phase="no-session"],
      .phase[data-phase="other-protocol"] {
        padding: 0.05rem 0.5rem;
        border-radius: 6px;
        background: var(--warn-fill);
        border: 2px dashed var(--warn);
        color: var(--warn);
        font-weight: 700;
      }
    `,
  ];

  override render() {
    const { state } = this;
    const phase = PHASES[state.phase];
    return html`<header class="head">
      <h1>firstamp</h1>
      <span>${state.board?.name ?? ""}</span>
      ${this.jobName === "" ? nothing : html`<span>job <b>${this.jobName}</b></span>`}
      ${state.bench?.simulated === true ? html`<span class="badge small">simulated bench</span>` : nothing}
      <span class="spread"></span>
      <span class="phase" data-phase=${state.phase} role="status">${phase.mark} ${phase.text}</span>
      ${state.phase === "live" ? this.#control() : nothing}
      <button aria-pressed=${this.sound} @click=${() => this.#ask("toggle-sound")}>Tones: ${this.sound ? "on" : "off"}</button>
      <button aria-pressed=${this.choosingKey} ?disabled=${!this.mayChooseKey} @click=${() => this.#ask("choose-key")}>
        ${this.choosingKey ? "Press the foot switch now" : `Foot key: ${keyName(this.footKey)}`}
      </button>
    </header>`;
  }

  #control() {
    const { lease, mayOperate } = this.state;
    if (lease === "you") {
      return html`<span><b>In control</b></span><button @click=${() => this.#ask("release-lease")}>Hand back</button>`;
    }
    if (lease === "other") return html`<span>another page is in control</span>`;
    if (!mayOperate) return html`<span>this page watches</span>`;
    return html`<button @click=${() => this.#ask("take-lease")}>Take control</button>`;
  }

  #ask(name: "toggle-sound" | "choose-key" | "take-lease" | "release-lease"): void {
    this.dispatchEvent(new CustomEvent(name));
  }
}
customElements.define("page-head", PageHead);
