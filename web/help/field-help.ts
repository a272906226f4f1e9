import { css, html, LitElement, nothing } from "lit";
import { baseStyle } from "../views/parts/base-style.ts";
import { type HelpKey, say } from "../words/help.ts";

/** A "?" beside a field that opens one sentence, and closes it again; by mouse, by key and for a screen reader. Escape closes it too, and cuts as ever. */
export class FieldHelp extends LitElement {
  static override properties = { about: { attribute: false }, open: { state: true } };
  declare about: HelpKey;
  declare open: boolean;

  static override styles = [
    baseStyle,
    css`
      button {
        position: absolute;
        top: -0.1rem;
        right: 0;
        width: 1.6rem;
        min-height: 1.6rem;
        padding: 0;
        border: 1px solid var(--line);
        border-radius: 4px 4px 4px 0;
        background: var(--sheet);
        color: var(--ink-soft);
        font-size: 0.875rem;
        line-height: 1;
      }
      /* A finger may miss it upwards and beside it, never into the field. */
      @media (max-width: 34rem), (pointer: coarse) {
        button::after {
          content: "";
          position: absolute;
          inset: -0.9rem 0 0 -1rem;
        }
      }
      button[aria-expanded="true"] {
        background: var(--calm-fill);
        color: var(--ink);
      }
      p {
        margin-top: 0.3rem;
        padding: 0.3rem 0.6rem;
        border-left: 4px solid var(--calm);
        background: var(--calm-fill);
        font-size: 0.9375rem;
      }
    `,
  ];

  constructor() {
    super();
    this.open = false;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    window.removeEventListener("keydown", this.#onKey, { capture: true });
  }

  override updated(): void {
    // Escape cuts before every other listener and goes no further: only a listener beside that one hears it.
    if (this.open) window.addEventListener("keydown", this.#onKey, { capture: true });
    else window.removeEventListener("keydown", this.#onKey, { capture: true });
  }

  override render() {
    return html`<button type="button" aria-expanded=${this.open} aria-label=${say("help")} @click=${this.#toggle}>?</button>
      <div role="status">${this.open ? html`<p>${say(this.about)}</p>` : nothing}</div>`;
  }

  readonly #onKey = (event: KeyboardEvent): void => {
    if (event.key === "Escape") this.open = false;
  };

  readonly #toggle = (): void => {
    this.open = !this.open;
  };
}
customElements.define("field-help", FieldHelp);
