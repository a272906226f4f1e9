import { css, html, LitElement, nothing, type PropertyValues, svg } from "lit";
import type { WireAnswer } from "../../../shared/wire.ts";
import type { Wish } from "../../page/bench-connection.ts";
import type { PhoneState } from "../../page/page-state.ts";
import { say } from "../../words/phone.ts";
import { baseStyle } from "../parts/base-style.ts";

/** Light modules around the picture, as its standard asks for (ISO/IEC 18004, 9.1). */
const QUIET = 4;

/** A code that this page made. */
interface Made {
  job: string;
  code: string;
}

/** Makes the code by which a phone sends photographs into the open job, and shows where the phone goes with it. */
export class PhoneCard extends LitElement {
  static override properties = {
    phone: { attribute: false },
    job: { type: String },
    jobName: { attribute: false },
    inControl: { type: Boolean },
    ask: { attribute: false },
    made: { state: true },
    problem: { state: true },
    picture: { state: true },
    address: { state: true },
  };
  declare phone: PhoneState;
  /** The job that is open. */
  declare job: string;
  /** The title of a job. */
  declare jobName: (job: string) => string;
  declare inControl: boolean;
  declare ask: (wish: Wish) => Promise<WireAnswer>;
  declare made: Made | null;
  declare problem: string;
  /** The dark modules of the address with its code, a row each; null: not drawn yet. */
  declare picture: boolean[][] | null;
  /** The address that was chosen of several. */
  declare address: string | null;
  #tick: ReturnType<typeof setTimeout> | undefined;

  static override styles = [
    baseStyle,
    css`
      .open {
        display: grid;
        gap: 0.5rem;
        margin-top: 0.4rem;
        justify-items: start;
      }
      .address {
        overflow-wrap: anywhere;
        font-weight: 700;
      }
      .code {
        font: 700 1.75rem ui-monospace, monospace;
        letter-spacing: 0.08em;
      }
      svg {
        width: 11rem;
        max-width: 100%;
        background: #fff;
        fill: #000;
        forced-color-adjust: none;
      }
    `,
  ];

  constructor() {
    super();
    this.job = "";
    this.inControl = false;
    this.made = null;
    this.problem = "";
    this.picture = null;
    this.address = null;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.#tick);
  }

  override willUpdate(changed: PropertyValues<this>): void {
    if (this.phone.code === null) this.made = null;
    const isOther = changed.has("job") && this.made !== null && this.made.job !== this.job;
    // Photographs of the board that is on the bench now must not go into the job of the one before.
    if (isOther) void this.#end();
    if (changed.has("made") || changed.has("address")) void this.#draw();
  }

  override render() {
    const { phone, problem } = this;
    const { code, ended } = phone;
    clearTimeout(this.#tick);
    if (code !== null) this.#tick = setTimeout(() => this.requestUpdate(), 1000);
    return html`<details class="card">
      <summary>${say("phone")}${code === null ? "" : " ●"}</summary>
      <div class="open">
        <p class="small">${say("what")}</p>
        ${code === null ? nothing : this.#inForce(code)}
        ${code === null && ended !== null ? html`<p class="small" role="status">${say(`ended.${ended}`)}</p>` : nothing}
        ${this.inControl ? html`<button @click=${this.#make}>${say(code === null ? "make" : "again")}</button>` : html`<p class="small">${say("no-control")}</p>`}
        ${code === null ? nothing : html`<button @click=${this.#end}>${say("end")}</button>`}
        ${problem === "" ? nothing : html`<p class="problem small" role="alert">✕ ${problem}</p>`}
      </div>
    </details>`;
  }

  #inForce({ job, secondsLeft, used, photographs }: NonNullable<PhoneState["code"]>) {
    const left = Math.max(0, Math.ceil(secondsLeft - (performance.now() - this.phone.arrivedAtMs) / 1000));
    return html`${job === this.job ? nothing : html`<p><b>⚠ ${say("elsewhere", { job: this.jobName(job) })}</b></p>`}
      ${this.made === null ? html`<p class="small">${say("hidden")}</p>` : used ? nothing : this.#way(this.made)}
      <p class="small">${say("left", { minutes: Math.floor(left / 60), seconds: left % 60 })}</p>
      <p role="status">${used ? say("used", { count: photographs }) : say("waits")}</p>`;
  }

  /** Where the phone goes, with what, and both as a picture. */
  #way({ code }: Made) {
    const { addresses } = this.phone;
    const rest = addresses.filter((each) => each !== this.#at);
    return html`<p>${say("open")} <span class="address">${this.#at}</span></p>
      ${rest.length === 0 ? nothing : html`<p class="small">${say("another")}: ${rest.map((each) => html`<button @click=${() => this.#choose(each)}>${each}</button> `)}</p>`}
      <p>${say("code")} <span class="code">${code}</span></p>
      ${this.picture === null ? nothing : this.#picture(this.picture)}`;
  }

  #picture(rows: boolean[][]) {
    const size = rows.length + 2 * QUIET;
    const dark = rows
      .flatMap((row, y) => row.map((is, x) => (is ? `M${x + QUIET} ${y + QUIET}h1v1h-1z` : "")))
      .join("");
    return html`<svg viewBox="0 0 ${size} ${size}" role="img" aria-label=${say("scan")} shape-rendering="crispEdges">${svg`<path d=${dark} />`}</svg>`;
  }

  get #at(): string {
    const { addresses } = this.phone;
    return addresses.find((each) => each === this.address) ?? addresses[0] ?? "";
  }

  #choose(address: string): void {
    this.address = address;
  }

  async #draw(): Promise<void> {
    const { made } = this;
    this.picture = null;
    if (made === null || this.#at === "") return;
    const text = `${this.#at}#c=${made.code}`;
    const { encode } = await import("uqr");
    if (this.made === made && text === `${this.#at}#c=${made.code}`)
      this.picture = encode(text, { border: 0, ecc: "M" }).data;
  }

  readonly #make = async (): Promise<void> => {
    const { job } = this;
    const answer = await this.ask({ type: "phone-code", job });
    this.problem = answer.result === "refused" ? answer.because : "";
    if (answer.result === "phone-code") this.made = { job, code: answer.code };
  };

  readonly #end = async (): Promise<void> => {
    this.made = null;
    const answer = await this.ask({ type: "end-phone-code" });
    this.problem = answer.result === "refused" ? answer.because : "";
  };
}
customElements.define("phone-card", PhoneCard);
