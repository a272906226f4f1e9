import { css, html, LitElement, nothing } from "lit";
import type { StageState, WireRun } from "../../shared/wire.ts";
import { baseStyle } from "./base-style.ts";
import { STAGE_ORDER, STAGE_WORDS, STATE_WORDS } from "./stage-words.ts";

/** The job as a line with six stops: where it is, what is behind it clean, where it was stopped. */
export class StageRibbon extends LitElement {
  static override properties = { run: { attribute: false } };
  declare run: WireRun | null;

  static override styles = [
    baseStyle,
    css`
      ol {
        display: grid;
        grid-template-columns: repeat(6, minmax(0, 1fr));
      }
      li {
        position: relative;
        display: grid;
        grid-template-columns: auto minmax(0, 1fr);
        align-items: center;
        align-content: start;
        padding-right: 0.5rem;
      }
      /* The line between two stops: whole where it was travelled, dashed where it was not. */
      li:not(:last-child)::before {
        content: "";
        position: absolute;
        left: 2.2rem;
        right: 0.1rem;
        top: 0.95rem;
        border-top: 2px dashed var(--line);
      }
      li[data-state="clean"]:not(:last-child)::before {
        border-top: 4px solid var(--calm);
        top: 0.9rem;
      }
      .stop {
        width: 2rem;
        height: 2rem;
        border-radius: 50%;
        display: grid;
        place-items: center;
        border: 3px solid var(--line);
        background: var(--ground);
        font-weight: 800;
        z-index: 1;
      }
      .name {
        justify-self: start;
        padding: 0 0.5rem;
        background: var(--ground);
        font-weight: 700;
        font-size: 1.125rem;
        z-index: 1;
      }
      .says {
        grid-column: 2;
        padding-left: 0.5rem;
        font-size: 0.8125rem;
        line-height: 1.25;
        color: var(--ink-soft);
      }
      .says b {
        color: var(--ink);
      }
      li[data-state="clean"] .stop {
        border-color: var(--calm);
        background: var(--calm);
        color: var(--sheet);
      }
      li[data-state="running"] .stop {
        border-color: var(--ink);
        background: var(--ink);
        color: var(--ground);
        outline: 4px solid var(--calm-fill);
      }
      li[data-state="running"] .name {
        text-decoration: underline;
        text-decoration-thickness: 3px;
        text-underline-offset: 3px;
      }
      li[data-state="stopped"] .stop {
        border-color: var(--stop);
        background: var(--stop);
        color: var(--on-stop);
        border-radius: 4px;
      }
      @media (max-width: 56rem) {
        ol {
          grid-template-columns: repeat(auto-fit, minmax(9.5rem, 1fr));
          row-gap: 0.6rem;
        }
        li::before {
          display: none;
        }
      }
    `,
  ];

  constructor() {
    super();
    this.run = null;
  }

  override render() {
    return html`<ol aria-label="Stages of the power-up">
      ${STAGE_ORDER.map((name, index) => {
        const stage = this.run?.stages.find((each) => each.stage === name);
        const state: StageState = stage?.state ?? "waiting";
        const words = STATE_WORDS[state];
        const there =
          state === "running" || state === "stopped" ? (stage?.feeds.filter((feed) => feed.state === state) ?? []) : [];
        const limited = there.length === 1 ? there.find((feed) => feed.volts > 0) : undefined;
        return html`<li data-state=${state} aria-current=${state === "running" ? "step" : nothing}>
          <span class="stop" aria-hidden="true">${words.mark || index + 1}</span>
          <span class="name">${STAGE_WORDS[name].name}</span>
          <span class="says">
            <b>${words.word}</b>${there.length > 1 ? `: ${there.length} feeds` : ""}${
              limited === undefined
                ? html`<br />${STAGE_WORDS[name].does}`
                : html`: ${limited.feed}<br />${limited.volts} V, limit ${limited.limitAmps} A`
            }
          </span>
        </li>`;
      })}
    </ol>`;
  }
}
customElements.define("stage-ribbon", StageRibbon);
