import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import type { WireSetOnce } from "../../../shared/files/set-once.ts";
import type { PermitItem } from "../../../shared/permit.ts";
import type { WireAnswer, WireBench, WirePreview } from "../../../shared/wire.ts";
import type { WireBoard } from "../../../shared/wire-board.ts";
import { MOST_BOARD_TEXT, type RunRequest, type Statement } from "../../../shared/wire-request.ts";
import { sayBound, sayOhms } from "../../../shared/words/amounts.ts";
import type { Wish } from "../../page/bench-connection.ts";
import { daemonNow } from "../../page/daemon-clock.ts";
import { say } from "../../words/shell.ts";
import { local } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";
import { clockTime } from "../parts/figures.ts";
import { foldedTable } from "../parts/folded-table.ts";
import { problem } from "../parts/problem.ts";
import { withHelp } from "../parts/with-help.ts";
import { acrossFields, acrossIn } from "./across-fields.ts";
import type { ColdParse } from "./cold-text.ts";
import { factsIn, STATEMENTS, surroundings } from "./start-facts.ts";
import { type TaskName, taskFields, taskIn } from "./task-fields.ts";
import "./permit-list.ts";

export type AskBench = (wish: { type: "preview"; request: RunRequest }) => Promise<WireAnswer>;

/** From facts to permit to cautions to one button that names what it will energise. */
export class StartForm extends LitElement {
  static override properties = {
    bench: { attribute: false },
    board: { attribute: false },
    task: { state: true },
    inControl: { type: Boolean },
    ask: { attribute: false },
    cold: { attribute: false },
    job: { attribute: false },
    preview: { state: true },
    problem: { state: true },
    waived: { state: true },
    reason: { state: true },
    read: { state: true },
    scope: { type: String },
    jobName: { type: String },
    usual: { attribute: false },
  };
  declare bench: WireBench | null;
  declare board: WireBoard | null;
  /** The kind of run that is asked for. */
  declare task: TaskName;
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
  /** Which job, board and run the facts are for; with another, nothing that was said counts any more. */
  declare scope: string;
  /** The job by its title. */
  declare jobName: string;
  /** The settings for all commands: the form begins from them. */
  declare usual: Pick<WireSetOnce, "host" | "fans" | "cooler"> | null;
  readonly #saidAt = new Map<Statement, string>();
  /** Surroundings that were said here: they stay when what is set once changes. */
  readonly #said = new Map<string, string>();
  #request: RunRequest | null = null;

  static override styles = [
    baseStyle,
    foldedTable,
    css`
      form:not([hidden]) {
        display: grid;
        grid-template-columns: minmax(0, 1fr);
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
      input.short[type="text"] {
        width: 6rem;
      }
      /* The one button that lets current flow: in sight whatever is scrolled, and like no other. */
      .go {
        position: sticky;
        bottom: 0;
        display: grid;
        grid-template-columns: minmax(0, 1fr);
        gap: 0.5rem;
        padding: 0.6rem 0 0.2rem;
        background: var(--sheet);
        border-top: 1px solid var(--hair);
      }
      .energise {
        min-height: 4rem;
        font-size: 1.25rem;
        border: 4px solid var(--ink);
        background: var(--ink);
        color: var(--ground);
      }
      .energise:disabled {
        border: 4px dashed var(--line);
        background: var(--sunk);
        color: var(--ink-soft);
      }
    `,
  ];

  constructor() {
    super();
    this.bench = null;
    this.board = null;
    this.task = "power-up";
    this.inControl = false;
    this.cold = { ok: true, cold: {} };
    this.job = null;
    this.preview = null;
    this.problem = "";
    this.waived = new Set();
    this.reason = "";
    this.read = false;
    this.scope = "";
    this.jobName = "";
    this.usual = null;
  }

  override updated(changed: PropertyValues): void {
    if (changed.has("scope") && changed.get("scope") !== undefined) this.#empty();
    if (changed.has("preview")) this.dispatchEvent(new CustomEvent("preparing", { detail: this.preview !== null }));
  }

  /** Another job, a run's end, a repair: every fact is to be said anew. */
  #empty(): void {
    this.renderRoot.querySelector("form")?.reset();
    this.#saidAt.clear();
    this.#said.clear();
    this.#request = null;
    this.task = "power-up";
    this.reset();
  }

  override render() {
    return html`<section class="card stack" aria-label=${say("start.label")}>
      <h2>${say(this.preview === null ? "start.prepare" : "start.what")} <span class="soft">${say("start.of", { job: this.jobName })}</span></h2>
      ${
        this.inControl
          ? nothing
          : html`<div class="row"><button class="main" @click=${() => this.dispatchEvent(new CustomEvent("take-control"))}>${say("control.take")}</button>
              <p class="small">${say("start.control")}</p></div>`
      }
      ${this.#facts()} ${this.preview === null ? nothing : this.#confirm(this.preview)}
      ${problem(this.problem)}
    </section>`;
  }

  #facts() {
    const typed = this.cold.ok ? Object.entries(this.cold.cold) : [];
    // Hidden, not taken out: who goes back finds what was written.
    return html`<form @submit=${this.#check} ?hidden=${this.preview !== null}>
      <p class="small">
        ${say("start.board")} <b>${this.board?.name ?? say("start.no-board")}</b>${this.board?.isDefault === true ? ` (${say("start.defaults")})` : ""}.
        ${say("start.cold", { readings: typed.length === 0 ? say("start.cold.none") : typed.map(([point, ohms]) => `${point} ${ohms === "open" ? say("start.cold.open") : local(sayOhms(ohms))}`).join(", ") })}
      </p>
      <div class="two">
        <fieldset>
          <legend>${say("start.seen")}</legend>
          ${STATEMENTS.map((key) => withHelp(key, html`<label class="check"><input type="checkbox" name=${key} @change=${(event: Event) => this.#state(key, event)} /><span>${say(`start.${key}`)}${this.#saidAt.has(key) ? html`<span class="small soft">, ${say("start.said", { time: clockTime(this.#saidAt.get(key) ?? "") })}</span>` : nothing}</span></label>`))}
        </fieldset>
        <div class="stack">
          <div class="three">
            ${surroundings().map(({ key, label, choices }) =>
              withHelp(
                key,
                html`<label
                ><span class="label">${label}</span>
                <select name=${key} @change=${(event: Event) => this.#said.set(key, (event.target as HTMLSelectElement).value)}>
                  ${choices.map(([value, text]) => html`<option value=${value} ?selected=${value === (this.#said.get(key) ?? this.usual?.[key] ?? "unknown")}>${text}</option>`)}
                </select></label
              >`,
              ),
            )}
          </div>
          ${surroundings().some(({ key }) => this.usual?.[key] != null) ? html`<p class="small">${say("start.usual")}</p>` : nothing}
          ${taskFields(this.task, this, (task) => {
            this.task = task;
          })}
          ${this.task === "soak" ? nothing : withHelp("watch", html`<label class="row"><span class="label">${say("start.watch")}</span> <input type="text" name="watch" inputmode="numeric" class="short" placeholder=${this.task === "margin" ? "3" : "15"} autocomplete="off" /></label>`)}
          ${this.task === "power-up" || this.task === "soak" ? withHelp("keep-on", html`<label class="check"><input type="checkbox" name="keepOn" />${say("start.keep-on")}</label>`) : nothing}
          <label class="row"><span class="label">${say("start.warmth")}</span> <input type="text" name="celsius" inputmode="numeric" class="short" placeholder=${say("start.warmth.unknown")} autocomplete="off" /></label>
          ${withHelp("file", html`<label><span class="label">${say("start.file")}</span> <input type="file" name="board" accept=".json,application/json" @change=${this.#boardChosen} /></label>`)}
        </div>
      </div>
      <button class="main" type="submit">${say("start.check")}</button>
    </form>`;
  }

  #confirm(preview: WirePreview) {
    const open = preview.permit.items.filter((item) => item.state !== "holds" && item.waived === null);
    const bad = open.filter((item) => item.state === "measured-bad");
    // A person's statement may stay open: it is on record, and widens the verdict.
    const blocks = (item: PermitItem): boolean =>
      item.state !== "unknown" || preview.permit.refusedBecause.some((each) => each.startsWith(`${item.asks}:`));
    const left = open.filter((item) => !this.waived.has(item.id) && blocks(item));
    const reasonMissing = this.waived.size > 0 && this.reason.trim().length < 3;
    const may = this.inControl && left.length === 0 && this.read && !reasonMissing;
    const names = preview.feeds
      .map((feed) => say("start.energise.feed", { feed: feed.feed, volts: feed.volts, amps: feed.limitAmps }))
      .join("; ");
    const why =
      bad.length > 0
        ? say("start.bad")
        : left.length > 0
          ? say(left.length === 1 ? "start.open.one" : "start.open", { count: left.length })
          : reasonMissing
            ? say("start.no-reason")
            : !this.read
              ? say("start.unread")
              : this.inControl
                ? ""
                : say("start.no-control");
    return html`<div class="two"><div class="stack"><table class="folded" role="table">
        <thead role="rowgroup">
          <tr role="row">${(["feed", "volts", "first", "highest"] as const).map((each) => html`<th role="columnheader" scope="col">${say(`start.${each}`)}</th>`)}</tr>
        </thead>
        <tbody role="rowgroup">
          ${preview.feeds.map((feed) => html`<tr role="row">${[feed.feed, `${local(String(feed.volts))} V`, local(sayBound(feed.limitAmps, "A", "highest")), local(sayBound(feed.highestAmps, "A", "highest"))].map((each) => html`<td role="cell">${each}</td>`)}</tr>`)}
        </tbody>
      </table>
      ${preview.does?.map((sentence) => html`<p lang="en"><b>${sentence}</b></p>`)}
      <h3 class="label">${say("start.permit")}</h3>
      <permit-list .permit=${preview.permit} .choosing=${true} .waived=${this.waived} @toggle-waiver=${this.#toggle}></permit-list>
      ${
        this.waived.size === 0
          ? nothing
          : withHelp(
              "waiver",
              html`<label
              ><span class="label">${say(this.waived.size === 1 ? "start.why" : "start.why.many")}</span>
              <input type="text" .value=${this.reason} @input=${this.#because} maxlength="500"
            /></label>`,
            )
      }
      </div><div class="stack"><div class="cautions">
        <h3 class="label">${say("start.cautions")}</h3>
        <ul class="small" lang="en">
          ${preview.cautions.map((caution) => html`<li>${caution}</li>`)}
        </ul>
        <label class="check"><input type="checkbox" .checked=${this.read} @change=${this.#confirmRead} />${say("start.read")}</label>
      </div></div></div>
      <div class="go"><button class="energise" ?disabled=${!may} @click=${() => this.#start(preview, "start-run")}>${say(`start.go.${this.#request?.task?.task ?? "power-up"}`, { feeds: names })}</button>
      ${why === "" ? nothing : html`<p class="small" role="status">${why}</p>`}</div>
      <div class="row">${this.#request?.task === undefined ? html`<button ?disabled=${!may} @click=${() => this.#start(preview, "start-sweep")}>${say("start.sweep")}</button> ${acrossFields(this.board)}` : nothing}
      <button @click=${this.reset}>${say("start.back")}</button></div>`;
  }

  async #check(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    const request = await this.#requestOf(event.target as HTMLFormElement);
    if (request === null) return;
    const answer = await this.ask({ type: "preview", request });
    if (answer.result === "preview") {
      void this.updateComplete.then(() => this.scrollIntoView({ block: "start" }));
      this.#request = request;
      this.preview = answer.preview;
      this.problem = "";
    } else {
      this.problem = answer.result === "refused" ? answer.because : say("start.odd");
    }
  }

  /** The values of the form; null, with the reason shown, where the cold readings cannot be read. */
  async #requestOf(form: HTMLFormElement): Promise<RunRequest | null> {
    const data = new FormData(form);
    const { cold } = this;
    if (!cold.ok) {
      this.problem = cold.because;
      return null;
    }
    const task = taskIn(data);
    if (typeof task === "string") {
      this.problem = task;
      return null;
    }
    const file = data.get("board");
    return {
      board: file instanceof File && file.size > 0 ? await file.text() : null,
      coldOhms: cold.cold,
      ...factsIn(data),
      waiver: null,
      stated: Object.fromEntries([...this.#saidAt].map(([key, at]) => [key, { at, job: this.job }])),
      job: this.job,
      ...(task === null ? {} : { task }),
    };
  }

  #state(key: Statement, event: Event): void {
    if ((event.target as HTMLInputElement).checked) this.#saidAt.set(key, daemonNow().toISOString());
    else this.#saidAt.delete(key);
    this.requestUpdate();
  }

  /** The statements were made of the board before. */
  readonly #boardChosen = (event: Event): void => {
    const input = event.target as HTMLInputElement;
    const [file] = input.files ?? [];
    for (const box of this.renderRoot.querySelectorAll<HTMLInputElement>('form input[type="checkbox"]'))
      box.checked = false;
    this.#saidAt.clear();
    this.problem = "";
    if (file !== undefined && file.size > MOST_BOARD_TEXT) {
      input.value = "";
      this.problem = say("start.too-large", { file: file.name, bytes: file.size, most: MOST_BOARD_TEXT });
    }
    this.requestUpdate();
  };

  #start(preview: WirePreview, type: "start-run" | "start-sweep"): void {
    if (this.#request === null) return;
    const waiver = this.waived.size === 0 ? null : { reason: this.reason.trim(), items: [...this.waived] };
    const request = { ...this.#request, job: this.job, waiver };
    const shown = {
      cautionsRead: true as const,
      confirmed: preview.feeds.map(({ feed, volts, limitAmps }) => ({ feed, volts, limitAmps })),
    };
    const how = type === "start-sweep" ? acrossIn(this.renderRoot) : null;
    if (typeof how === "string") {
      this.problem = how;
      return;
    }
    const detail: Wish =
      type === "start-run"
        ? { type, request, ...shown }
        : { type, request, powered: shown, ...(how === null ? {} : { how }) };
    this.dispatchEvent(new CustomEvent("ask-start", { detail }));
  }

  /** The statements on the board and its surroundings, for a sweep that energises nothing. */
  async facts(): Promise<RunRequest | null> {
    const form = this.renderRoot.querySelector("form");
    const request = form === null ? null : await this.#requestOf(form);
    if (request === null) return null;
    const { task: _, ...facts } = request;
    return facts;
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
