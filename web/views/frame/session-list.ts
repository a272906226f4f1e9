import { css, html, LitElement, nothing } from "lit";
import { type ListedSession, sessions } from "../../page/session.ts";
import { say } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";
import { momentText } from "../parts/figures.ts";

/** The pages that may ask this daemon, each to be ended. */
export class SessionList extends LitElement {
  static override properties = { listed: { state: true }, own: { state: true }, problem: { state: true } };
  declare listed: ListedSession[] | null;
  declare own: string | null;
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      li {
        display: flex;
        gap: 0.5rem;
        align-items: center;
        justify-content: space-between;
        padding: 0.2rem 0;
        border-top: 1px solid var(--hair);
      }
      button {
        min-height: max(1.75rem, var(--touch, 0px));
        padding: 0 0.6rem;
        border-width: 1px;
      }
    `,
  ];

  constructor() {
    super();
    this.listed = null;
    this.own = null;
    this.problem = "";
  }

  override render() {
    return html`<button @click=${this.#read}>${say(this.listed === null ? "sessions.which" : "sessions.again")}</button>
      ${this.problem === "" ? nothing : html`<p class="problem small" role="alert">✕ ${this.problem}</p>`}
      <ul class="small">
        ${this.listed?.map(
          ({ session, name, mayOperate, lastSeenAt }) => html`<li>
            <span><b>${name}</b>${session === this.own ? say("sessions.this") : ""}${mayOperate ? "" : say("sessions.watches")}<br /><span class="soft">${say("sessions.seen", { time: momentText(lastSeenAt) })}</span></span>
            <button @click=${() => this.#end(session)}>${say("sessions.end")}<span class="unseen">${say("sessions.of", { name })}</span></button>
          </li>`,
        )}
      </ul>`;
  }

  readonly #read = async (): Promise<void> => {
    const found = await sessions.list().catch(() => null);
    this.problem = found === null ? say("sessions.unlisted") : "";
    this.listed = found?.sessions ?? this.listed;
    this.own = found?.own ?? this.own;
  };

  async #end(session: string): Promise<void> {
    const ended = await sessions.end(session).catch(() => false);
    if (ended) await this.#read();
    else this.problem = say("sessions.unended");
  }
}
customElements.define("session-list", SessionList);
