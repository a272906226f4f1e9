import { css, html, LitElement, nothing } from "lit";
import type { WireInstrument } from "../../shared/wire.ts";
import { keyName } from "../page/cut-key.ts";
import type { PageState } from "../page/page-state.ts";
import { baseStyle } from "./base-style.ts";
import { clockTime } from "./figures.ts";
import "./session-list.ts";

const PHASES: Record<PageState["phase"], { mark: string; text: string }> = {
  connecting: { mark: "…", text: "connecting" },
  live: { mark: "●", text: "daemon" },
  lost: { mark: "✕", text: "lost contact with the daemon" },
  "no-session": { mark: "✕", text: "no session" },
  "other-protocol": { mark: "✕", text: "another version" },
};

/** Which board and job, whether the daemon and each instrument answer, who is in control; tones, foot key and sessions behind a fold. */
export class PageHead extends LitElement {
  static override properties = {
    state: { attribute: false },
    jobName: { type: String },
    sound: { type: Boolean },
    volume: { type: Number },
    footKey: { attribute: false },
    choosingKey: { type: Boolean },
    mayChooseKey: { type: Boolean },
  };
  declare state: PageState;
  declare jobName: string;
  declare sound: boolean;
  /** How loud the tones are, 0 to 1. */
  declare volume: number;
  /** null: none was chosen. */
  declare footKey: string | null;
  declare choosingKey: boolean;
  declare mayChooseKey: boolean;

  static override styles = [
    baseStyle,
    css`
      .head {
        display: flex;
        align-items: center;
        gap: 0.9rem;
        min-height: 2.9rem;
        padding: 0.2rem 1rem;
      }
      h1 {
        margin: 0;
        flex: none;
        font-size: 1.125rem;
        letter-spacing: 0.01em;
      }
      .name {
        flex: 0 1 auto;
        min-width: 0;
        overflow: hidden;
        text-overflow: ellipsis;
        white-space: nowrap;
      }
      .job {
        flex: 1 1 8rem;
      }
      .badge {
        flex: none;
        padding: 0.05rem 0.5rem;
        border: 1px solid var(--line);
        border-radius: 99px;
        white-space: nowrap;
      }
      .lamps {
        display: flex;
        flex: none;
        gap: 0.2rem 0.7rem;
        align-items: center;
      }
      .lamp,
      .phase {
        white-space: nowrap;
      }
      .lamp[data-lamp="gone"],
      .phase:not([data-phase="live"]) {
        padding: 0.05rem 0.5rem;
        border-radius: 6px;
        background: var(--warn-fill);
        border: 2px dashed var(--warn);
        color: var(--warn);
        font-weight: 700;
      }
      button {
        min-height: 2rem;
        padding: 0.1rem 0.7rem;
        border-width: 1px;
        white-space: nowrap;
      }
      .control {
        flex: none;
        display: flex;
        gap: 0.6rem;
        align-items: center;
      }
      details {
        position: relative;
        flex: none;
      }
      summary {
        padding: 0.1rem 0.4rem;
      }
      .fold {
        position: absolute;
        right: 0;
        z-index: 5;
        width: min(24rem, 90vw);
        max-height: 75vh;
        overflow-y: auto;
        display: grid;
        gap: 0.6rem;
        padding: 0.9rem;
        background: var(--sheet);
        border: 1px solid var(--line);
        border-radius: var(--radius);
        box-shadow: 0 8px 24px rgb(0 0 0 / 0.25);
      }
      @media (max-width: 56rem) {
        .head {
          gap: 0.5rem;
          padding-inline: 0.6rem;
        }
        .board,
        .lamp[data-lamp="well"],
        .badge .more {
          display: none;
        }
      }
      @media (max-width: 34rem) {
        .head {
          flex-wrap: wrap;
          gap: 0 0.5rem;
        }
        .job {
          flex: 1 1 40%;
        }
        h1,
        .badge .more,
        .control span,
        .phase[data-phase="live"] .text {
          display: none;
        }
      }
    `,
  ];

  override render() {
    const { state } = this;
    const phase = PHASES[state.phase];
    return html`<header class="head">
      <h1>firstamp</h1>
      <span class="name board soft" title=${state.board?.name ?? ""}>${state.board?.name ?? ""}</span>
      <span class="name job" title=${this.jobName}>${this.jobName === "" ? html`<span class="soft">no job is open</span>` : html`<b>${this.jobName}</b>`}</span>
      ${state.bench?.simulated === true ? html`<span class="badge small">simulated<span class="more"> bench</span></span>` : nothing}
      <span class="lamps small">
        <span class="phase" data-phase=${state.phase} role="status">${phase.mark}<span class="text"> ${phase.text}</span></span>
        ${state.phase === "live" ? state.bench?.instruments.map((each) => this.#lamp(each)) : nothing}
      </span>
      <span class="control small">${state.phase === "live" ? this.#control() : nothing}</span>
      <details>
        <summary>Settings</summary>
        <div class="fold">
          <button aria-pressed=${this.sound} @click=${() => this.#ask("toggle-sound")}>Tones: ${this.sound ? "on" : "off"}</button>
          <tone-settings .on=${this.sound} .volume=${this.volume}
            @set-volume=${(event: CustomEvent<number>) => this.dispatchEvent(new CustomEvent("set-volume", { detail: event.detail }))}
            @hear-tone=${(event: CustomEvent<string>) => this.dispatchEvent(new CustomEvent("hear-tone", { detail: event.detail }))}
          ></tone-settings>
          <p class="small">A foot switch is a keyboard with one key. Its key cuts while something is on, but not while you write; Escape always cuts.</p>
          <button aria-pressed=${this.choosingKey} ?disabled=${!this.mayChooseKey} @click=${() => this.#ask("choose-key")}>
            ${this.choosingKey ? "Press the foot switch now" : `Foot key: ${this.footKey === null ? "none" : keyName(this.footKey)}`}
          </button>
          ${this.footKey === null ? nothing : html`<button ?disabled=${!this.mayChooseKey} @click=${() => this.#ask("forget-key")}>No foot key</button>`}
          ${state.phase === "live" && state.mayOperate ? html`<session-list></session-list>` : nothing}
        </div>
      </details>
    </header>`;
  }

  /** An instrument's own lamp: whether it answers, and when it did last. */
  #lamp({ name, connected, silent, identity, lastAnswerAt }: WireInstrument) {
    const answered = lastAnswerAt === null ? "no answer yet" : `last answer ${clockTime(lastAnswerAt)}`;
    if (!connected && !silent)
      return html`<span class="lamp" data-lamp="well" title="not asked now; ${answered}">○ ${name}</span>`;
    return !silent
      ? html`<span class="lamp" data-lamp="well" title="${identity ?? ""}; ${answered}">● ${name}</span>`
      : html`<span class="lamp" data-lamp="gone" title=${answered}>✕ ${name} does not answer</span>`;
  }

  #control() {
    const { lease, mayOperate } = this.state;
    if (lease === "you") {
      return html`<b>In control</b><button @click=${() => this.#ask("release-lease")}>Hand back</button>`;
    }
    if (!mayOperate) return html`<span>this page watches</span>`;
    if (lease === "other")
      return html`<span>another page is in control</span><button @click=${() => this.#ask("ask-lease")}>Ask for control</button>`;
    return html`<button @click=${() => this.#ask("take-lease")}>Take control</button>`;
  }

  #ask(name: "toggle-sound" | "choose-key" | "forget-key" | "take-lease" | "ask-lease" | "release-lease"): void {
    this.dispatchEvent(new CustomEvent(name));
  }
}
customElements.define("page-head", PageHead);
