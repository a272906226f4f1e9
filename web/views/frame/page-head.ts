import { css, html, LitElement, nothing } from "lit";
import type { WireInstrument } from "../../../shared/wire.ts";
import { keyName } from "../../page/cut-key.ts";
import type { PageState } from "../../page/page-state.ts";
import { say } from "../../words/shell.ts";
import { type Language, language } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";
import { clockTime } from "../parts/figures.ts";
import "./session-list.ts";

const PHASES: Record<PageState["phase"], string> = {
  connecting: "…",
  live: "●",
  lost: "✕",
  "no-session": "✕",
  "other-protocol": "✕",
};

/** Each language by its own name. */
const LANGUAGES: [Language, string][] = [
  ["en", "English"],
  ["de", "Deutsch"],
];

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
  /** The loudness of the tones, 0 to 1. */
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
      .board {
        max-width: 14rem;
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
        min-height: max(2rem, var(--touch, 0px));
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
        button {
          padding-inline: 0.4rem;
        }
        summary {
          padding-inline: 0;
        }
        /* The settings have the whole width, whatever line their head stands in. */
        .head {
          position: relative;
        }
        details {
          position: static;
        }
        .fold {
          inset-inline: 0.5rem;
          width: auto;
        }
      }
    `,
  ];

  override render() {
    const { state } = this;
    return html`<header class="head">
      <h1>firstamp</h1>
      <span class="name board soft" title=${state.board?.name ?? ""}>${state.board?.name ?? ""}</span>
      <span class="name job" title=${this.jobName}>${this.jobName === "" ? html`<span class="soft">${say("head.no-job")}</span>` : html`<b>${this.jobName}</b>`}</span>
      ${state.bench?.simulated === true ? html`<span class="badge small">${say("head.simulated")}<span class="more">${say("head.simulated.more")}</span></span>` : nothing}
      <span class="lamps small">
        <span class="phase" data-phase=${state.phase} role="status">${PHASES[state.phase]}<span class="text"> ${say(`phase.${state.phase}`)}</span></span>
        ${state.phase === "live" ? state.bench?.instruments.map((each) => this.#lamp(each)) : nothing}
      </span>
      <span class="control small">${state.phase === "live" ? this.#control() : nothing}</span>
      <details>
        <summary>${say("head.settings")}</summary>
        <div class="fold">
          <button aria-pressed=${this.sound} @click=${() => this.#ask("toggle-sound")}>${say(this.sound ? "head.tones.on" : "head.tones.off")}</button>
          <tone-settings .on=${this.sound} .volume=${this.volume}
            @set-volume=${(event: CustomEvent<number>) => this.dispatchEvent(new CustomEvent("set-volume", { detail: event.detail }))}
            @hear-tone=${(event: CustomEvent<string>) => this.dispatchEvent(new CustomEvent("hear-tone", { detail: event.detail }))}
          ></tone-settings>
          <p class="small">${say("head.foot.how")}</p>
          <button aria-pressed=${this.choosingKey} ?disabled=${!this.mayChooseKey} @click=${() => this.#ask("choose-key")}>
            ${this.choosingKey ? say("head.foot.press") : this.footKey === null ? say("head.foot.none") : say("head.foot", { key: keyName(this.footKey) })}
          </button>
          ${this.footKey === null ? nothing : html`<button ?disabled=${!this.mayChooseKey} @click=${() => this.#ask("forget-key")}>${say("head.foot.forget")}</button>`}
          <label>${say("head.language")}
            <select @change=${this.#chooseLanguage}>
              ${LANGUAGES.map(([code, name]) => html`<option value=${code} lang=${code} ?selected=${code === language()}>${name}</option>`)}
            </select>
          </label>
          ${state.phase === "live" && state.mayOperate ? html`<session-list></session-list>` : nothing}
        </div>
      </details>
    </header>`;
  }

  /** An instrument's own lamp: whether it answers, and when it did last. */
  #lamp({ name, connected, silent, identity, lastAnswerAt }: WireInstrument) {
    const answered = lastAnswerAt === null ? say("lamp.never") : say("lamp.last", { time: clockTime(lastAnswerAt) });
    if (!connected && !silent)
      return html`<span class="lamp" data-lamp="well" title=${say("lamp.rests", { answered })}>○ ${name}</span>`;
    return !silent
      ? html`<span class="lamp" data-lamp="well" title="${identity ?? ""}; ${answered}">● ${name}</span>`
      : html`<span class="lamp" data-lamp="gone" title=${answered}>✕ ${say("lamp.gone", { name })}</span>`;
  }

  #control() {
    const { lease, leaseOf, mayOperate } = this.state;
    if (lease === "you") {
      return html`<b>${say("control.have")}</b><button @click=${() => this.#ask("release-lease")}>${say("control.back")}</button>`;
    }
    if (!mayOperate) return html`<span>${say("control.watches")}</span>`;
    if (lease === "other")
      return html`<span>${leaseOf === null ? say("control.other") : say("control.of", { page: leaseOf })}</span><button @click=${() => this.#ask("ask-lease")}>${say("control.ask")}</button>`;
    return html`<button @click=${() => this.#ask("take-lease")}>${say("control.take")}</button>`;
  }

  readonly #chooseLanguage = (event: Event): void => {
    this.dispatchEvent(new CustomEvent("choose-language", { detail: (event.target as HTMLSelectElement).value }));
  };

  #ask(name: "toggle-sound" | "choose-key" | "forget-key" | "take-lease" | "ask-lease" | "release-lease"): void {
    this.dispatchEvent(new CustomEvent(name));
  }
}
customElements.define("page-head", PageHead);
