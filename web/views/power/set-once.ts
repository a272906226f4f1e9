import { css, html, LitElement, nothing } from "lit";
import type { SetOnceBody, WireSetOnce } from "../../../shared/files/set-once.ts";
import { postJson } from "../../page/session.ts";
import { say } from "../../words/set-once.ts";
import { say as shell } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";
import { surroundings } from "./start-facts.ts";

/** What lies on the bench, as every command and every power-up form takes it from here on. */
export class SetOnce extends LitElement {
  static override properties = {
    set: { attribute: false },
    job: { attribute: false },
    jobName: { type: String },
    mayWrite: { type: Boolean },
    problem: { state: true },
  };
  declare set: WireSetOnce;
  /** The job that is open; null: none. */
  declare job: string | null;
  declare jobName: string;
  declare mayWrite: boolean;
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      .all {
        display: grid;
        gap: 0.6rem;
        margin-top: 0.4rem;
      }
      .path {
        overflow-wrap: anywhere;
        font-weight: 600;
      }
      .three {
        display: grid;
        grid-template-columns: repeat(auto-fit, minmax(8rem, 1fr));
        gap: 0.6rem;
      }
    `,
  ];

  constructor() {
    super();
    this.job = null;
    this.jobName = "";
    this.mayWrite = false;
    this.problem = "";
  }

  override render() {
    const { set, mayWrite } = this;
    const problem = this.problem || set.problem || "";
    return html`<details class="card">
      <summary>${say("title")}: ${this.#inShort()}</summary>
      <div class="all">
        <p class="small">${say("what")}</p>
        ${problem === "" ? nothing : html`<p class="problem small" role="alert" lang="en">✕ ${problem}</p>`}
        ${set.problem === null ? nothing : html`<button ?disabled=${!mayWrite} @click=${() => this.#change({ forget: ["bench", "board", "host", "fans", "cooler", "job"] })}>${say("forget.all")}</button>`}
        ${this.#kept("bench", say("bench"), set.bench)} ${this.#kept("board", say("board"), set.board)}
        <form class="row" @submit=${this.#setFile}>
          <label><span class="label">${say("file")}</span> <input type="text" name="file" autocomplete="off" spellcheck="false" maxlength="1000" /></label>
          <button type="submit" ?disabled=${!mayWrite}>${say("set")}</button>
        </form>
        <div class="three">${surroundings().map((each) => this.#choice(each))}</div>
        ${this.#kept("job", say("job"), set.job?.title ?? null)}
        ${set.job === null || set.job.id === this.job ? nothing : html`<button @click=${() => this.#open(set.job?.id ?? "")}>${say("job.open", { job: set.job.title })}</button>`}
        ${this.job === null || this.job === set.job?.id ? nothing : html`<button ?disabled=${!mayWrite} @click=${() => this.#change({ job: this.job ?? "" })}>${say("job.this", { job: this.jobName })}</button>`}
      </div>
    </details>`;
  }

  /** What is set elsewhere takes no page to another job by itself: readings would go there unseen. */
  #open(job: string): void {
    this.dispatchEvent(new CustomEvent("open-job", { detail: job }));
  }

  #inShort(): string {
    const { set } = this;
    const said = [
      ...[set.bench, set.board].flatMap((file) => (file === null ? [] : [file.split(/[/\\]/).at(-1) ?? file])),
      ...surroundings().flatMap(({ key, label, choices }) => {
        const chosen = choices.find(([value]) => value === set[key]);
        return chosen === undefined ? [] : [`${label}: ${chosen[1]}`];
      }),
      ...(set.job === null ? [] : [set.job.title]),
    ];
    return said.length === 0 ? say("nothing") : said.join(", ");
  }

  #kept(name: "bench" | "board" | "job", label: string, value: string | null) {
    return html`<p>${label}: ${value === null ? html`<span class="soft">${say("none")}</span>` : html`<span class="path">${value}</span> <button ?disabled=${!this.mayWrite} aria-label=${say("forget.what", { what: label })} @click=${() => this.#change({ forget: [name] })}>${say("forget")}</button>`}</p>`;
  }

  #choice({ key, label, choices }: ReturnType<typeof surroundings>[number]) {
    // What the command line cannot keep is said at each start.
    const kept = choices.filter(([value]) => value !== "pulled-up");
    return html`<label><span class="label">${label}</span>
      <select name=${key} ?disabled=${!this.mayWrite} @change=${(event: Event) => this.#choose(key, (event.target as HTMLSelectElement).value)}>
        ${kept.map(([value, text]) => html`<option value=${value} ?selected=${value === (this.set[key] ?? "unknown")}>${value === "unknown" ? shell("start.host.unknown") : text}</option>`)}
      </select></label>`;
  }

  #choose(key: "host" | "fans" | "cooler", value: string): void {
    void this.#change(value === "unknown" ? { forget: [key] } : { [key]: value });
  }

  readonly #setFile = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const file = String(new FormData(form).get("file") ?? "").trim();
    if (file !== "" && (await this.#change({ file }))) form.reset();
  };

  /** The daemon tells every page of what it is from then on; here only what went wrong is said. */
  async #change(change: SetOnceBody): Promise<boolean> {
    const reply = await postJson("/api/set-once", change).catch(() => null);
    const said = (await reply?.json().catch(() => null)) as { error?: string } | null | undefined;
    this.problem = reply?.ok === true ? "" : (said?.error ?? say("lost"));
    return this.problem === "";
  }
}
customElements.define("set-once", SetOnce);
