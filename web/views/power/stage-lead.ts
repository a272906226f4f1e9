import { css, html, LitElement, nothing } from "lit";
import type { StageState, WireRun } from "../../../shared/wire.ts";
import { say } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";
import { STAGE_ORDER, stageDoes, stageName, stageState } from "../parts/stage-words.ts";

/** The power-up as a lead between six contacts: filled as far as current came, broken where it was stopped. */
export class StageLead extends LitElement {
  static override properties = { run: { attribute: false }, frozen: { type: Boolean } };
  declare run: WireRun | null;
  /** True while the daemon is out of hearing: where the run is now nobody knows. */
  declare frozen: boolean;

  static override styles = [
    baseStyle,
    css`
      ol {
        display: grid;
        grid-template-columns: repeat(6, minmax(0, 1fr));
      }
      li {
        position: relative;
        padding: 1.5rem 0.5rem 0 0;
      }
      .wire,
      .contact {
        position: absolute;
        top: 0.25rem;
      }
      .wire {
        left: 0;
        right: 0;
        height: 0.7rem;
        border-block: 1px solid var(--line);
      }
      li:last-child .wire {
        right: auto;
        width: 2.4rem;
      }
      .contact {
        top: 0;
        left: 0;
        width: 2.4rem;
        height: 1.2rem;
        display: grid;
        place-items: center;
        border: 2px solid var(--line);
        border-radius: 3px;
        background: var(--ground);
        font-size: 0.875rem;
        font-weight: 800;
        line-height: 1;
      }
      .name {
        font-weight: 700;
        font-size: 1.125rem;
      }
      .says {
        font-size: 0.8125rem;
        line-height: 1.25;
        color: var(--ink-soft);
      }
      .says b {
        color: var(--ink);
      }
      [data-state="clean"] :is(.wire, .contact) {
        background: var(--calm);
        border-color: var(--calm);
        color: var(--sheet);
      }
      [data-state="running"] .wire {
        background: repeating-linear-gradient(90deg, var(--calm) 0 0.5rem, transparent 0.5rem 0.9rem);
      }
      [data-state="running"] .contact {
        border-color: var(--ink);
        background: var(--ink);
        color: var(--ground);
      }
      [data-state="running"] .name {
        text-decoration: underline;
        text-decoration-thickness: 3px;
        text-underline-offset: 3px;
      }
      [data-state="stopped"] .contact {
        border-color: var(--stop);
        background: var(--stop);
        color: var(--on-stop);
      }
      [data-state="stopped"] .wire {
        background: none;
        border-block: 0;
        border-left: 0;
      }
      ol[data-frozen="yes"] :is(.wire, .contact) {
        background: var(--sunk);
        border-color: var(--line);
        color: var(--ink-soft);
      }
      @media (max-width: 56rem) {
        ol {
          grid-template-columns: repeat(3, minmax(0, 1fr));
          row-gap: 0.5rem;
        }
        .name {
          font-size: 1rem;
        }
      }
      @media (forced-colors: active) {
        ol {
          forced-color-adjust: none;
        }
        :is([data-state="clean"], [data-state="running"]) .contact {
          background: CanvasText;
          border-color: CanvasText;
          color: Canvas;
        }
        [data-state="clean"] .wire {
          background: CanvasText;
        }
        [data-state="stopped"] .contact {
          background: Canvas;
          border: 3px double CanvasText;
          color: CanvasText;
        }
        li,
        .says,
        .says b {
          color: CanvasText;
        }
      }
    `,
  ];

  constructor() {
    super();
    this.run = null;
    this.frozen = false;
  }

  override render() {
    return html`<ol aria-label=${say("lead.label")} data-frozen=${this.frozen ? "yes" : "no"}>
      ${STAGE_ORDER.map((name) => {
        const stage = this.run?.stages.find((each) => each.stage === name);
        const state: StageState = stage?.state ?? "waiting";
        const words = stageState(state);
        const word = this.frozen && state === "running" ? say("lead.seen") : words.word;
        const there =
          state === "running" || state === "stopped" ? (stage?.feeds.filter((feed) => feed.state === state) ?? []) : [];
        const [only] = there.length === 1 ? there : [];
        return html`<li data-state=${state} aria-current=${state === "running" && !this.frozen ? "step" : nothing}>
          <span class="wire" aria-hidden="true"></span>
          <span class="contact" aria-hidden="true">${words.mark}</span>
          <p class="name">${stageName(name)}</p>
          <p class="says"><b>${word}</b>${there.length > 1 ? `: ${say("lead.feeds", { count: there.length })}` : only === undefined ? html`<br />${stageDoes(name)}` : `: ${only.feed}`}</p>
        </li>`;
      })}
    </ol>`;
  }
}
customElements.define("stage-lead", StageLead);
