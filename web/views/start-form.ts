import { css, html, LitElement, nothing } from "lit";
import { sayOhms } from "../../shared/amounts.ts";
import type { RunConditions } from "../../shared/permit.ts";
import type { RunRequest, WireAnswer, WireBoard, WirePreview } from "../../shared/wire.ts";
import type { Wish } from "../page/bench-connection.ts";
import { baseStyle } from "./base-style.ts";
import type { ColdParse } from "./cold-text.ts";

import "./permit-list.ts";

const STATEMENTS: [key: "polarityChecked" | "commonReturn" | "sidebandStrapped" | "pairsUnplugged", text: string][] = [
  ["polarityChecked", "Polarity checked with a meter at the card end"],
  ["commonReturn", "All returns joined"],
  ["sidebandStrapped", "Sense and sideband pins strapped as the board wants"],
  ["pairsUnplugged", "Everything else unplugged from the board"],
];
const SURROUNDINGS: {
  [Key in "host" | "fans" | "cooler"]: { label: string; choices: [RunConditions[Key], string][] };
} = {
  host: {
    label: "Host",
    choices: [
      ["unknown", "not said"],
      ["none", "none"],
      ["attached", "attached"],
    ],
  },
  fans: {
    label: "Fans",
    choices: [
      ["unknown", "not said"],
      ["on", "on"],
      ["off", "off"],
    ],
  },
  cooler: {
    label: "Cooler",
    choices: [
      ["unknown", "not said: as bare"],
      ["bare", "bare"],
      ["block", "block"],
      ["cooler", "cooler"],
    ],
  },
};

export type AskBench = (wish: { type: "preview"; request: RunRequest }) => Promise<WireAnswer>;

/** From facts to permit to cautions to one button that names what it will energise. */
export class StartForm extends LitElement {
  static override properties = {
    board: { attribute: false },
    inControl: { type: Boolean },
    ask: { attribute: false },
    cold: { attribute: false },
    job: { attribute: false },
    preview: { state: true },
    problem: { state: true },
    waived: { state: true },
    reason: { state: true },
    read: { state: true },
  };
  declare board: WireBoard | null;
  declare inControl: boolean;
  declare ask: AskBench;
  /** The cold readings as they are typed at their own step. */
  declare cold: ColdParse;
  /** The job that the run is filed with; null opens one. */
  declare job: string | null;
  declare preview: WirePreview | null;
  declare problem: string;
  declare waived: ReadonlySet<string>;
  declare reason: string;
  declare read: boolean;
  #request: RunRequest | null = null;

  static override styles = [
    baseStyle,
    css`
      form:not([hidden]) {
        display: grid;
        gap: 0.7rem;
      }
      .three {
        display: grid;
        grid-template-columns: repeat(3, minmax(0, 1fr));
        gap: 0.6rem;
      }
      .cautions {
        display: grid;
        gap: 0.4rem;
        padding: 0.6rem 0.8rem;
        background: var(--warn-fill);
        border: 2px solid var(--warn);
        border-radius: 8px;
      }
      .cautions li {
        display: grid;
        grid-template-columns: 1.3rem minmax(0, 1fr);
      }
      .cautions li::before {
        content: "⚠";
        color: var(--warn);
      }
      .energise {
        min-height: 3.5rem;
        font-size: 1.1rem;
      }
    `,
  ];

  constructor() {
    super();
    this.board = null;
    this.inControl = false;
    this.cold = { ok: true, cold: {} };
    this.job = null;
    this.preview = null;
    this.problem = "";
    this.waived = new Set();
    this.reason = "";
    this.read = false;
  }

  override render() {
    return html`<section class="card stack" aria-label="First power-up">
      <h2>${this.preview === null ? "Prepare the first power-up" : "What will be energised"}</h2>
      ${
        this.inControl
          ? nothing
          : html`<div class="row"><button class="main" @click=${() => this.dispatchEvent(new CustomEvent("take-control"))}>Take control</button>
              <p class="small">Looking is free. To start, this page must be in control.</p></div>`
      }
      ${this.problem === "" ? nothing : html`<p class="problem" role="alert">✕ ${this.problem}</p>`}
      ${this.#facts()} ${this.preview === null ? nothing : this.#confirm(this.preview)}
    </section>`;
  }

  #facts() {
    const typed = this.cold.ok ? Object.entries(this.cold.cold) : [];
    // Hidden, not taken out: who goes back finds what was written.
    return html`<form @submit=${this.#check} ?hidden=${this.preview !== null}>
      <p class="small">
        Board: <b>${this.board?.name ?? "none"}</b>${this.board?.isDefault === true ? " (shipped defaults, nothing is known of it)" : ""}.
        Cold readings typed in: ${typed.length === 0 ? "none; those filed with the job count while they are fresh" : typed.map(([point, ohms]) => `${point} ${ohms === "open" ? "open" : sayOhms(ohms)}`).join(", ")}.
      </p>
      <div class="two">
        <fieldset>
          <legend>Done and seen to be so</legend>
          ${STATEMENTS.map(([key, text]) => html`<label class="check"><input type="checkbox" name=${key} />${text}</label>`)}
        </fieldset>
        <div class="stack">
          <div class="three">
            ${Object.entries(SURROUNDINGS).map(
              ([key, { label, choices }]) => html`<label
                ><span class="label">${label}</span>
                <select name=${key}>
                  ${choices.map(([value, text]) => html`<option value=${value}>${text}</option>`)}
                </select></label
              >`,
            )}
          </div>
          <label class="check"><input type="checkbox" name="keepOn" />Leave it on after the watch, within its longest on-time</label>
          <label><span class="label">Another board file</span> <input type="file" name="board" accept=".json,application/json" /></label>
        </div>
      </div>
      <button class="main" type="submit">Check the permit</button>
    </form>`;
  }

  #confirm(preview: WirePreview) {
    const open = preview.permit.items.filter((item) => item.state !== "holds" && item.waived === null);
    const bad = open.filter((item) => item.state === "measured-bad");
    const left = open.filter((item) => !this.waived.has(item.id));
    const reasonMissing = this.waived.size > 0 && this.reason.trim().length < 3;
    const may = this.inControl && left.length === 0 && this.read && !reasonMissing;
    const names = preview.feeds.map((feed) => `${feed.feed} ${feed.volts} V, limit ${feed.limitAmps} A`).join("; ");
    const why =
      bad.length > 0
        ? "A reading says never to power this board."
        : left.length > 0
          ? `${left.length} of the permit's conditions ${left.length === 1 ? "is" : "are"} open.`
          : reasonMissing
            ? "A waiver needs its reason."
            : !this.read
              ? "The cautions are not confirmed."
              : this.inControl
                ? ""
                : "This page is not in control.";
    return html`<div class="two"><div class="stack"><table>
        <thead>
          <tr><th scope="col">Feed</th><th scope="col">Volts</th><th scope="col">First limit</th><th scope="col">Highest</th></tr>
        </thead>
        <tbody>
          ${preview.feeds.map((feed) => html`<tr><td>${feed.feed}</td><td>${feed.volts} V</td><td>${feed.limitAmps} A</td><td>${feed.highestAmps} A</td></tr>`)}
        </tbody>
      </table>
      <h3 class="label">Permit</h3>
      <permit-list .permit=${preview.permit} .choosing=${true} .waived=${this.waived} @toggle-waiver=${this.#toggle}></permit-list>
      ${
        this.waived.size === 0
          ? nothing
          : html`<label
              ><span class="label">Why it is right to go on without ${this.waived.size === 1 ? "it" : "them"}</span>
              <input type="text" .value=${this.reason} @input=${this.#because} maxlength="500"
            /></label>`
      }
      </div><div class="stack"><div class="cautions">
        <h3 class="label">Cautions</h3>
        <ul class="small">
          ${preview.cautions.map((caution) => html`<li>${caution}</li>`)}
        </ul>
        <label class="check"><input type="checkbox" .checked=${this.read} @change=${this.#confirmRead} />I have read these, and they are met</label>
      </div>
      <button class="main energise" ?disabled=${!may} @click=${() => this.#start(preview, "start-run")}>Energise ${names}</button>
      <button ?disabled=${!may} @click=${() => this.#start(preview, "start-sweep")}>The same, then sweep the rails while it is on</button>
      ${why === "" ? nothing : html`<p class="small" role="status">${why}</p>`}
      <button @click=${this.reset}>Back to the facts</button></div></div>`;
  }

  async #check(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    const request = await this.#requestOf(event.target as HTMLFormElement);
    if (request === null) return;
    const answer = await this.ask({ type: "preview", request });
    if (answer.result === "preview") {
      this.#request = request;
      this.preview = answer.preview;
      this.problem = "";
    } else {
      this.problem = answer.result === "refused" ? answer.because : "The daemon answered something else.";
    }
  }

  /** What the form says; null, with the reason shown, where the cold readings cannot be read. */
  async #requestOf(form: HTMLFormElement): Promise<RunRequest | null> {
    const data = new FormData(form);
    const { cold } = this;
    if (!cold.ok) {
      this.problem = cold.because;
      return null;
    }
    const file = data.get("board");
    const said = (key: string): true | null => (data.get(key) === null ? null : true);
    return {
      board: file instanceof File && file.size > 0 ? await file.text() : null,
      coldOhms: cold.cold,
      conditions: {
        host: data.get("host") as RunConditions["host"],
        fans: data.get("fans") as RunConditions["fans"],
        cooler: data.get("cooler") as RunConditions["cooler"],
        polarityChecked: said("polarityChecked"),
        commonReturn: said("commonReturn"),
        sidebandStrapped: said("sidebandStrapped"),
        pairsUnplugged: said("pairsUnplugged"),
      },
      waiver: null,
      watchSeconds: null,
      keepOn: data.get("keepOn") !== null,
      job: this.job,
    };
  }

  #start(preview: WirePreview, type: "start-run" | "start-sweep"): void {
    if (this.#request === null) return;
    const waiver = this.waived.size === 0 ? null : { reason: this.reason.trim(), items: [...this.waived] };
    const request = { ...this.#request, job: this.job, waiver };
    const shown = {
      cautionsRead: true as const,
      confirmed: preview.feeds.map(({ feed, volts, limitAmps }) => ({ feed, volts, limitAmps })),
    };
    const detail: Wish = type === "start-run" ? { type, request, ...shown } : { type, request, powered: shown };
    this.dispatchEvent(new CustomEvent("ask-start", { detail }));
  }

  /** What was stated of the board and its surroundings, for a sweep that energises nothing. */
  async facts(): Promise<RunRequest | null> {
    const form = this.renderRoot.querySelector("form");
    return form === null ? null : this.#requestOf(form);
  }

  /** Shows why a start was refused, with the facts still there to be mended. */
  refused(because: string): void {
    this.problem = because;
  }

  readonly #toggle = (event: CustomEvent<string>): void => {
    const waived = new Set(this.waived);
    if (!waived.delete(event.detail)) waived.add(event.detail);
    this.waived = waived;
  };

  readonly #because = (event: Event): void => {
    this.reason = (event.target as HTMLInputElement).value;
  };

  readonly #confirmRead = (event: Event): void => {
    this.read = (event.target as HTMLInputElement).checked;
  };

  /** Back to the facts: what was confirmed was confirmed for one start. */
  readonly reset = (): void => {
    this.preview = null;
    this.waived = new Set();
    this.reason = "";
    this.read = false;
    this.problem = "";
  };
}
customElements.define("start-form", StartForm);
