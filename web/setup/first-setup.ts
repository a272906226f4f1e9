import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import { namesFor, type ProposedFeed, proposeBench, proposedFeeds } from "../../shared/files/propose-bench.ts";
import type { FoundLink, SetupFinding, SetupView } from "../../shared/files/setup.ts";
import type { Place } from "../record/places.ts";
import { baseStyle } from "../views/parts/base-style.ts";
import { withHelp } from "../views/parts/with-help.ts";
import { say } from "../words/setup.ts";
import { type Done, setupClient } from "./setup-client.ts";
import "./rehearsal-card.ts";

const EXAMPLE = "TCPIP0::192.0.2.20::5025::SOCKET";
/** Left for the person to type; the daemon refuses what is no channel. */
const HIGHEST_CHANNEL = 32;

/** The first set-up: instruments are found, the bench file is written, checked and used; or a rehearsal is begun. */
export class FirstSetup extends LitElement {
  static override properties = {
    place: { type: String },
    mayWrite: { type: Boolean },
    bench: { type: String },
    rail: { type: String },
    view: { state: true },
    addresses: { state: true },
    left: { state: true },
    looking: { state: true },
    found: { state: true },
    feeds: { state: true },
    written: { state: true },
    isThere: { state: true },
    isFree: { state: true },
    findings: { state: true },
    busy: { state: true },
    problem: { state: true },
  };
  declare place: Place;
  declare mayWrite: boolean;
  /** Changes when another bench is in use: then the daemon is asked again. */
  declare bench: string;
  /** The rail that a sweep asks for now; empty where none is. */
  declare rail: string;
  declare view: SetupView | null;
  /** Addresses that were typed in. */
  declare addresses: string[];
  /** Addresses that are not to be opened. */
  declare left: ReadonlySet<string>;
  declare looking: string | null;
  /** null: nobody has looked yet. */
  declare found: FoundLink[] | null;
  declare feeds: ProposedFeed[];
  /** The path of the bench file that was written. */
  declare written: string | null;
  /** True while it is asked whether the bench file that is there shall be replaced. */
  declare isThere: boolean;
  declare isFree: boolean;
  declare findings: SetupFinding[] | null;
  declare busy: boolean;
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      section {
        margin-bottom: 0.8rem;
      }
      h3 {
        font-size: 1rem;
      }
      li {
        padding: 0.2rem 0;
        overflow-wrap: anywhere;
      }
      .feed {
        display: grid;
        grid-template-columns: minmax(0, 2fr) minmax(0, 2fr) 5rem auto;
        gap: 0.5rem;
        align-items: end;
      }
      .step {
        border-top: 1px solid var(--hair);
        padding-top: 0.7rem;
      }
      .warning {
        padding: 0.5rem 0.7rem;
        background: var(--warn-fill);
        border: 2px solid var(--warn);
        border-radius: 6px;
      }
      [data-ok="no"] {
        color: var(--stop);
        font-weight: 700;
      }
      @media (max-width: 34rem) {
        .feed {
          grid-template-columns: minmax(0, 1fr) 5rem;
        }
      }
    `,
  ];

  constructor() {
    super();
    this.place = "board";
    this.mayWrite = false;
    this.bench = "";
    this.rail = "";
    this.view = null;
    this.addresses = [];
    this.left = new Set();
    this.looking = null;
    this.found = null;
    this.feeds = [];
    this.written = null;
    this.isThere = false;
    this.isFree = false;
    this.findings = null;
    this.busy = false;
    this.problem = "";
  }

  override updated(changed: PropertyValues): void {
    if (changed.has("bench")) void this.#read();
  }

  override render() {
    const { view } = this;
    if (view === null || view.bench === "file") return nothing;
    if (view.bench === "rehearsal") {
      return html`<rehearsal-card .place=${this.place} .rail=${this.rail} .coldOhms=${view.coldOhms} .mayWrite=${this.mayWrite}></rehearsal-card>`;
    }
    if (this.place !== "board") return nothing;
    return html`<section class="card stack" aria-label=${say("label")}>
      <h2>${say("heading")}</h2>
      <p>${say("intro")}</p>
      ${this.mayWrite ? this.#steps(view) : html`<p class="small">${say("viewer")}</p>`}
      ${this.problem === "" ? nothing : html`<p class="problem told" role="alert" lang="en">✕ ${this.problem}</p>`}
    </section>`;
  }

  #steps(view: SetupView) {
    const supplies = namesFor(this.found ?? []).filter((each) => each.kind === "supply");
    return html`<div class="two">
        <div class="stack">${this.#find(view)}</div>
        <div class="stack">${this.#rehearse(view)} ${this.#drivers(view)}</div>
      </div>
      ${supplies.length === 0 ? nothing : this.#write(view, supplies)}
      ${this.written === null ? nothing : this.#check(this.written)}`;
  }

  #rehearse({ rehearsals }: SetupView) {
    return html`<form class="stack" @submit=${this.#onRehearse}>
      <h3>${say("rehearse.heading")}</h3>
      <p class="small">${say("rehearse.intro")}</p>
      <label><span class="label">${say("rehearse.board")}</span>
        <select name="scenario" lang="en">
          ${rehearsals.map(({ name, title }) => html`<option value=${name} ?selected=${name === "normal"}>${title}</option>`)}
        </select></label>
      <button class="main" type="submit" ?disabled=${this.busy}>${say("rehearse.start")}</button>
    </form>`;
  }

  #drivers({ drivers }: SetupView) {
    return html`<details><summary>${say("drivers.heading")}</summary>
      <p class="small">${say("drivers.intro")}</p>
      <ul class="small" lang="en">${drivers.map(({ name, describes }) => html`<li><b>${name}</b>: ${describes}</li>`)}</ul>
    </details>`;
  }

  #find({ ports }: SetupView) {
    const chosen = this.#chosen();
    return html`<h3>${say("find.heading")}</h3>
      ${ports.length === 0 ? html`<p class="small">${say("find.no-ports")}</p>` : nothing}
      ${
        ports.length + this.addresses.length === 0
          ? nothing
          : html`<fieldset>
        <legend>${say("find.ports")}</legend>
        ${[...ports, ...this.addresses.map((address) => ({ address, words: "" }))].map(
          ({
            address,
            words,
          }) => html`<label class="check"><input type="checkbox" .checked=${!this.left.has(address)} @change=${() => this.#toggle(address)} />
            <span class="told">${address}${words === "" ? nothing : html` <span class="soft small">${words}</span>`}</span></label>`,
        )}
      </fieldset>`
      }
      <form class="stack" @submit=${this.#onAddress}>
        ${withHelp(
          "address",
          html`<label><span class="label">${say("find.address")}</span>
            <input type="text" name="address" maxlength="300" autocomplete="off" spellcheck="false" />
            <span class="small soft">${say("find.address.such", { example: EXAMPLE })}</span></label>`,
        )}
        <button type="submit">${say("find.add")}</button>
      </form>
      <p class="small warning">${say("find.warning")}</p>
      <button class="main" ?disabled=${this.busy || chosen.length === 0} @click=${this.#look}>
        ${say(chosen.length === 1 ? "find.look.one" : "find.look", { count: chosen.length })}
      </button>
      <p role="status">${this.looking === null ? "" : say("find.looking", { address: this.looking })}</p>
      ${this.found === null ? nothing : html`<ul>${this.found.map((each) => this.#foundOne(each))}</ul>`}
      ${this.found === null || this.busy || this.found.some((each) => each.kind === "supply") ? nothing : html`<p><b>${say("find.none")}</b></p>`}`;
  }

  #foundOne({ address, identity, kind, driver, describes, why, problem }: FoundLink) {
    return html`<li data-ok=${problem === null ? "yes" : "no"} data-found>
      <b>${problem === null ? "✓" : "✕"} ${address}</b>
      ${identity === null ? nothing : html`<br /><span lang="en">${say("find.answers", { identity })}</span>`}
      ${kind === null || driver === null ? nothing : html`<br />${say(`find.${kind}`)}, ${say("find.driver", { driver, describes: describes ?? "" })}`}
      ${problem === null ? nothing : html`<br /><span lang="en">${problem}</span>`}
      ${why.length === 0 ? nothing : html`<details class="small"><summary>${say("find.why")}</summary><ul lang="en">${why.map((each) => html`<li>${each}</li>`)}</ul></details>`}
    </li>`;
  }

  #write(view: SetupView, supplies: { name: string }[]) {
    return html`<form class="stack step" @submit=${this.#onWrite}>
      <h3>${say("feeds.heading")}</h3>
      <p class="small">${say("feeds.intro")}</p>
      ${this.feeds.map(
        (each, index) => html`<div class="feed">
          ${withHelp("feed", html`<label><span class="label">${say("feeds.feed")}</span><input type="text" .value=${each.feed} maxlength="32" pattern="[A-Za-z][A-Za-z0-9_-]*" required autocomplete="off" spellcheck="false" @input=${(event: Event) => this.#feed(index, { feed: typedIn(event) })} /></label>`)}
          <label><span class="label">${say("feeds.supply")}</span><select @change=${(event: Event) => this.#feed(index, { supply: typedIn(event) })}>
            ${supplies.map(({ name }) => html`<option ?selected=${name === each.supply}>${name}</option>`)}</select></label>
          ${withHelp("channel", html`<label><span class="label">${say("feeds.channel")}</span><input type="number" min="1" max=${HIGHEST_CHANNEL} required .value=${String(each.channel)} @input=${(event: Event) => this.#feed(index, { channel: Number(typedIn(event)) })} /></label>`)}
          <button type="button" aria-label=${say("feeds.remove", { feed: each.feed })} ?disabled=${this.feeds.length === 1} @click=${() => this.#removeFeed(index)}>✕</button>
        </div>`,
      )}
      <div class="row"><button type="button" @click=${() => this.#addFeed(supplies)}>${say("feeds.add")}</button></div>
      <h3>${say("file.heading")}</h3>
      ${withHelp("where", html`<label><span class="label">${say("file.where")}</span><input type="text" name="file" .value=${view.proposedFile} maxlength="1000" required autocomplete="off" spellcheck="false" /></label>`)}
      ${
        this.isThere
          ? html`<p role="alert"><b>${say("file.there")}</b></p>
            <div class="row"><button type="button" @click=${this.#keep}>${say("file.keep")}</button><button type="submit" value="replace">${say("file.replace")}</button></div>`
          : html`<button class="main" type="submit" ?disabled=${this.busy}>${say("file.write")}</button>`
      }
    </form>`;
  }

  #check(file: string) {
    const { findings } = this;
    const good = findings?.every((each) => each.ok) === true;
    return html`<div class="stack step">
      <p role="status"><b>✓ ${say("file.written", { file })}</b></p>
      <h3>${say("check.heading")}</h3>
      <p class="small">${say("check.intro")}</p>
      <label class="check"><input type="checkbox" .checked=${this.isFree} @change=${this.#onFree} />${say("check.free")}</label>
      <button ?disabled=${!this.isFree || this.busy} @click=${() => this.#onCheck(file)}>${say("check.start")}</button>
      ${
        findings === null
          ? nothing
          : html`<ul lang="en">${findings.map(({ name, ok, says }) => html`<li data-ok=${ok ? "yes" : "no"} data-finding>${ok ? "✓" : "✕"} <b>${name}</b>: ${says}</li>`)}</ul>
          <p role="status"><b>${say(good ? "check.good" : "check.bad")}</b></p>`
      }
      <h3>${say("use.heading")}</h3>
      ${good ? nothing : html`<p class="small">${say("use.unchecked")}</p>`}
      <button class=${good ? "main" : ""} ?disabled=${this.busy} @click=${() => this.#do(() => setupClient.use(file))}>${say("use.start")}</button>
      <p class="small">${say("use.later", { command: ["firstamp", "serve", "--bench", file].join(" ") })}</p>
    </div>`;
  }

  #chosen(): string[] {
    const all = [...(this.view?.ports.map((each) => each.address) ?? []), ...this.addresses];
    return all.filter((each) => !this.left.has(each));
  }

  #toggle(address: string): void {
    const left = new Set(this.left);
    if (!left.delete(address)) left.add(address);
    this.left = left;
  }

  readonly #onAddress = (event: SubmitEvent): void => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const address = String(new FormData(form).get("address") ?? "").trim();
    if (address === "" || this.#chosen().includes(address)) return;
    this.addresses = [...this.addresses, address];
    form.reset();
  };

  /** One after the other: the person sees which one is looked at, and a slow one holds no other up unseen. */
  readonly #look = async (): Promise<void> => {
    this.busy = true;
    this.problem = "";
    this.found = [];
    this.#forget();
    for (const address of this.#chosen()) {
      this.looking = address;
      const looked = await setupClient.look(address);
      if (looked.ok) this.found = [...this.found, looked.value];
      else this.problem = looked.because;
    }
    this.looking = null;
    this.busy = false;
    this.feeds = proposedFeeds(
      namesFor(this.found)
        .filter((each) => each.kind === "supply")
        .map((each) => each.name),
    );
  };

  /** The file and the check were of the instruments before. */
  #forget(): void {
    this.written = null;
    this.findings = null;
    this.isThere = false;
    this.isFree = false;
  }

  #feed(index: number, change: Partial<ProposedFeed>): void {
    this.feeds = this.feeds.map((each, at) => (at === index ? { ...each, ...change } : each));
    this.#forget();
  }

  #removeFeed(index: number): void {
    this.feeds = this.feeds.filter((_, at) => at !== index);
    this.#forget();
  }

  #addFeed([first]: { name: string }[]): void {
    if (first === undefined) return;
    const taken = this.feeds.filter((each) => each.supply === first.name).map((each) => each.channel);
    this.feeds = [...this.feeds, { feed: "", supply: first.name, channel: Math.max(0, ...taken) + 1 }];
    this.#forget();
  }

  readonly #keep = (): void => {
    this.isThere = false;
  };

  readonly #onFree = (event: Event): void => {
    this.isFree = (event.target as HTMLInputElement).checked;
  };

  readonly #onWrite = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    const file = String(new FormData(event.target as HTMLFormElement).get("file") ?? "");
    const replace = (event.submitter as HTMLButtonElement | null)?.value === "replace";
    const known = (this.found ?? []).filter((each) => each.kind !== null);
    this.#forget();
    const done = await this.#do(() => setupClient.write(file, proposeBench(known, this.feeds), replace));
    if (done.ok) this.written = done.value;
    else if (done.there) {
      this.problem = "";
      this.isThere = true;
    }
  };

  async #onCheck(file: string): Promise<void> {
    this.findings = null;
    const done = await this.#do(() => setupClient.check(file));
    if (done.ok) this.findings = done.value;
  }

  readonly #onRehearse = (event: SubmitEvent): void => {
    event.preventDefault();
    const scenario = String(new FormData(event.target as HTMLFormElement).get("scenario") ?? "normal");
    void this.#do(() => setupClient.rehearse(scenario));
  };

  async #do<Value>(work: () => Promise<Done<Value>>): Promise<Done<Value>> {
    this.busy = true;
    const done = await work();
    this.busy = false;
    this.problem = done.ok ? "" : done.because;
    return done;
  }

  async #read(): Promise<void> {
    const read = await setupClient.view();
    if (read.ok) this.view = read.value;
  }
}
customElements.define("first-setup", FirstSetup);

const typedIn = (event: Event): string => (event.target as HTMLInputElement | HTMLSelectElement).value;
