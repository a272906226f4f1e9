import { css, html, LitElement, nothing } from "lit";
import type { Permit, PermitItem } from "../../../shared/permit.ts";
import { say } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";
import { duration } from "../parts/figures.ts";

const MARKS: Record<PermitItem["state"], string> = {
  holds: "✓",
  "not-done": "○",
  unknown: "?",
  "measured-bad": "✕",
};

/** The permit, condition by condition with its evidence; where `choosing`, what was not done can be waived one by one. */
export class PermitList extends LitElement {
  static override properties = {
    permit: { attribute: false },
    choosing: { type: Boolean },
    waived: { attribute: false },
  };
  declare permit: Permit;
  declare choosing: boolean;
  declare waived: ReadonlySet<string>;

  static override styles = [
    baseStyle,
    css`
      ul {
        display: grid;
        gap: 0.4rem;
      }
      li {
        display: grid;
        grid-template-columns: 1.6rem minmax(0, 1fr);
        gap: 0 0.4rem;
        padding-bottom: 0.4rem;
        border-bottom: 1px solid var(--hair);
      }
      .mark {
        font-weight: 800;
        text-align: center;
        border-radius: 4px;
        height: 1.4rem;
        line-height: 1.4rem;
      }
      li[data-state="holds"] .mark {
        color: var(--calm);
      }
      li[data-state="not-done"] .mark,
      li[data-state="unknown"] .mark {
        background: var(--warn-fill);
        color: var(--warn);
      }
      li[data-state="measured-bad"] .mark {
        background: var(--stop);
        color: var(--on-stop);
      }
      .evidence {
        grid-column: 2;
      }
      label {
        grid-column: 2;
        display: flex;
        gap: 0.5rem;
        align-items: center;
        padding-top: 0.2rem;
      }
      summary {
        min-height: max(1.75rem, var(--touch, 0px));
        padding-top: 0.3rem;
        cursor: pointer;
        font-weight: 600;
      }
    `,
  ];

  constructor() {
    super();
    this.choosing = false;
    this.waived = new Set();
  }

  override render() {
    const holding = this.permit.items.filter((item) => item.state === "holds");
    const open = this.permit.items.filter((item) => item.state !== "holds");
    return html`${
      open.length === 0
        ? nothing
        : html`<ul>
              ${open.map((item) => this.#item(item))}
            </ul>`
    }
      <details ?open=${this.choosing}>
        <summary>✓ ${say("permit.holding", { holding: holding.length, all: this.permit.items.length })}</summary>
        <ul>
          ${holding.map((item) => this.#item(item))}
        </ul>
      </details>`;
  }

  #item(item: PermitItem) {
    const age = item.ageMs === null ? "" : say("permit.age", { age: duration(item.ageMs) });
    const named = item.feed === null || item.asks.includes(item.feed);
    return html`<li data-state=${item.state}>
      <span class="mark" aria-hidden="true">${MARKS[item.state]}</span>
      <span lang="en">${named ? "" : html`<b>${item.feed}</b>: `}${item.asks}</span>
      <span class="evidence small soft"><b>${say(`permit.${item.state}`)}</b>: <span lang="en">${item.evidence}</span>${age}</span>
      ${item.waived === null ? nothing : html`<span class="evidence small"><b>${say("permit.waived")}</b>: ${item.waived.reason}</span>`}
      ${
        this.choosing && item.waived === null && (item.state === "not-done" || item.state === "unknown")
          ? html`<label
              ><input type="checkbox" .checked=${this.waived.has(item.id)} @change=${() => this.#toggle(item.id)} />
              <span>${say("permit.without")}<span class="unseen">: ${item.asks}</span></span></label
            >`
          : nothing
      }
    </li>`;
  }

  #toggle(id: string): void {
    this.dispatchEvent(new CustomEvent("toggle-waiver", { detail: id }));
  }
}
customElements.define("permit-list", PermitList);
