import { css, html, LitElement, nothing } from "lit";
import type { PageState } from "../page/page-state.ts";
import { baseStyle } from "./base-style.ts";
import { clockTime, voltsText } from "./figures.ts";

const BANNERS: Partial<Record<PageState["phase"], string>> = {
  lost: "The daemon does not answer. Hands off. Switch the supply off by its own switch. The figures below are old.",
  "no-session":
    "This address was already used, is too old, or belongs to an earlier daemon. Open the address that the daemon prints; press Enter there for another. This page cannot switch anything.",
  "other-protocol":
    "This page and the daemon have different versions, so nothing here works. Load the page again, or restart the daemon.",
};

/** What nobody may miss: what to switch off by hand, a daemon that does not answer, an instrument that went away. */
export class PageBanners extends LitElement {
  static override properties = { state: { attribute: false }, silenced: { type: Boolean } };
  declare state: PageState;
  /** True once a person has heard the alarm; what it says stays. */
  declare silenced: boolean;

  static override styles = [
    baseStyle,
    css`
      .banner {
        padding: 0.5rem 1rem;
        background: var(--warn-fill);
        border-bottom: 3px solid var(--warn);
      }
      .alarm {
        display: grid;
        grid-template-columns: minmax(0, 1fr) auto;
        gap: 0.2rem 1rem;
        align-items: center;
        padding: 0.5rem 1rem;
        background: var(--stop);
        color: var(--on-stop);
      }
      .act {
        font-size: 2.25rem;
        font-weight: 800;
        line-height: 1.1;
        overflow-wrap: anywhere;
      }
      .alarm button {
        color: var(--ink);
      }
      summary {
        width: fit-content;
      }
      @media (max-width: 44rem), (max-height: 34rem) {
        .alarm {
          grid-template-columns: minmax(0, 1fr);
          padding: 0.3rem 0.6rem;
        }
        .alarm button {
          justify-self: start;
        }
        .act {
          font-size: 1.3rem;
        }
        .banner {
          padding: 0.3rem 0.6rem;
          font-size: 0.9375rem;
        }
      }
    `,
  ];

  override render() {
    const { state } = this;
    const banner = BANNERS[state.phase];
    const gone = state.phase === "live" ? (state.bench?.instruments.filter((each) => each.silent) ?? []) : [];
    return html`${state.alarm === null ? nothing : this.#alarm(state.alarm.message)}
    ${banner === undefined ? nothing : html`<p class="banner" role="alert"><b>✕ ${banner}</b></p>`}
    ${
      gone.length === 0
        ? nothing
        : html`<p class="banner" role="status"><b>✕ ${gone.map((each) => each.name).join(", ")} ${gone.length === 1 ? "does" : "do"} not answer.</b>
            ${gone.map(({ lastAnswerAt }) => (lastAnswerAt === null ? "" : `Last answer ${clockTime(lastAnswerAt)}. `))}Look at plug and switch; the program asks again every few seconds.</p>`
    }`;
  }

  /** What to do, then what may be on, then why. */
  #alarm(message: string) {
    const { bench, feeds } = this.state;
    const doubtful = bench?.feeds.filter((feed) => feeds[feed.feed]?.output !== "off") ?? [];
    const supplies = [...new Set(doubtful.map((feed) => feed.supply ?? feed.feed))];
    const maybe = doubtful.map(({ feed }) => {
      const last = feeds[feed]?.last;
      return last == null ? feed : `${feed} (last ${voltsText(last.volts)} V)`;
    });
    return html`<div class="alarm">
      <div>
        <p class="act" role="alert">⚠ SWITCH ${supplies.length === 0 ? "THE SUPPLY" : supplies.join(" AND ")} OFF BY HAND, NOW</p>
        ${maybe.length === 0 ? nothing : html`<p><b>${maybe.join(", ")} may be on.</b></p>`}
        <details><summary>Why</summary><p class="told">${message}</p></details>
      </div>
      ${
        this.silenced
          ? html`<span class="small">alarm heard; the output is not off yet</span>`
          : html`<button @click=${() => this.dispatchEvent(new CustomEvent("silence-alarm"))}>I have heard it: silence</button>`
      }
    </div>`;
  }
}
customElements.define("page-banners", PageBanners);
