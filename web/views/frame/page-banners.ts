import { css, html, LitElement, nothing } from "lit";
import type { PageState } from "../../page/page-state.ts";
import { say } from "../../words/shell.ts";
import { local } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";
import { clockTime, voltsText } from "../parts/figures.ts";

/** Warnings that nobody may miss: an output to switch off by hand, a daemon that does not answer, an instrument that went away. */
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
    const { phase } = state;
    const banner = phase === "live" || phase === "connecting" ? undefined : say(`banner.${phase}`);
    const gone = state.phase === "live" ? (state.bench?.instruments.filter((each) => each.silent) ?? []) : [];
    const names = gone.map((each) => each.name).join(", ");
    return html`${state.alarm === null ? nothing : this.#alarm(state.alarm.message)}
    ${banner === undefined ? nothing : html`<p class="banner" role="alert"><b>✕ ${banner}</b></p>`}
    ${
      gone.length === 0
        ? nothing
        : html`<p class="banner" role="status"><b>✕ ${say(gone.length === 1 ? "banner.gone" : "banner.gone.many", { name: names, names })}</b>
            ${gone.map(({ lastAnswerAt }) => (lastAnswerAt === null ? "" : `${say("banner.last", { time: clockTime(lastAnswerAt) })} `))}${say("banner.plug")}</p>`
    }`;
  }

  /** The action first, then what may be on, then the reason. */
  #alarm(message: string) {
    const { bench, feeds } = this.state;
    const doubtful = bench?.feeds.filter((feed) => feeds[feed.feed]?.output !== "off") ?? [];
    const supplies = [...new Set(doubtful.map((feed) => feed.supply ?? feed.feed))];
    const maybe = doubtful.map(({ feed }) => {
      const last = feeds[feed]?.last;
      return last == null ? feed : say("alarm.feed", { feed, volts: local(voltsText(last.volts)) });
    });
    return html`<div class="alarm">
      <div>
        <p class="act" role="alert">⚠ ${say("alarm.act", { supplies: supplies.length === 0 ? say("alarm.supply") : supplies.join(say("alarm.and")) })}</p>
        ${maybe.length === 0 ? nothing : html`<p><b>${say("alarm.maybe", { feeds: maybe.join(", ") })}</b></p>`}
        <details><summary>${say("alarm.why")}</summary><p class="told" lang="en">${message}</p></details>
      </div>
      ${
        this.silenced
          ? html`<span class="small">${say("alarm.heard")}</span>`
          : html`<button @click=${() => this.dispatchEvent(new CustomEvent("silence-alarm"))}>${say("alarm.silence")}</button>`
      }
    </div>`;
  }
}
customElements.define("page-banners", PageBanners);
