import { css, html, LitElement, nothing } from "lit";
import type { PageState } from "../page/page-state.ts";
import { baseStyle } from "./base-style.ts";

const BANNERS: Partial<Record<PageState["phase"], string>> = {
  lost: "The daemon does not answer. The figures below are old. If in doubt, switch the supply off by its own switch.",
  "no-session":
    "This address was used already or is too old. Open the one that the daemon prints; it prints a new one when Enter is pressed there.",
  "other-protocol":
    "This page and the daemon are of different versions. Nothing here works; load the page again, or start the daemon anew.",
};

/** What nobody may miss: an output that was not shown to be off, and a daemon that does not answer. */
export class PageBanners extends LitElement {
  static override properties = { state: { attribute: false }, silenced: { type: Boolean } };
  declare state: PageState;
  /** True once a person has heard the alarm; what it says stays. */
  declare silenced: boolean;

  static override styles = [
    baseStyle,
    css`
      .banner {
        padding: 0.7rem 1rem;
        background: var(--warn-fill);
        border-bottom: 3px solid var(--warn);
      }
      .alarm {
        display: flex;
        flex-wrap: wrap;
        gap: 0.4rem 1rem;
        align-items: center;
        padding: 0.6rem 1rem;
        background: var(--stop);
        color: var(--on-stop);
        font-size: 1.5rem;
        font-weight: 800;
        line-height: 1.25;
      }
      .alarm p {
        flex: 1 1 20rem;
      }
      .alarm button {
        font-size: 1rem;
        color: var(--ink);
      }
    `,
  ];

  override render() {
    const { state } = this;
    const banner = BANNERS[state.phase];
    return html`${
      state.alarm === null
        ? nothing
        : html`<div class="alarm">
            <p role="alert">⚠ ${state.alarm.message} Switch the supply off by its own switch, now.</p>
            ${
              this.silenced
                ? html`<span class="small">alarm heard; it is not off yet</span>`
                : html`<button @click=${() => this.dispatchEvent(new CustomEvent("silence-alarm"))}>I have heard it: silence</button>`
            }
          </div>`
    }
    ${banner === undefined ? nothing : html`<p class="banner" role="alert"><b>✕ ${banner}</b></p>`}`;
  }
}
customElements.define("page-banners", PageBanners);
