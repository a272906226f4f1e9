import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import type { WireJob } from "../../../shared/wire.ts";
import type { FindQuery } from "../../../shared/wire-http.ts";
import { jobRecord } from "../../record/job-record.ts";
import { say } from "../../words/record.ts";
import { baseStyle } from "../parts/base-style.ts";
import { classHeadline } from "../parts/draw-words.ts";
import { momentText } from "../parts/figures.ts";
import { JOB_STAGES, stageName } from "../parts/stage-names.ts";
import "./job-thumb.ts";

/** A hand that writes is asked for once it rests, milliseconds. */
const REST_MS = 250;
/** So many jobs are shown at first: what lies below the list stays near. */
const FIRST_SHOWN = 6;
const RESULTS = ["passed", "failed", "returned"] as const;

const states = (): [value: string, words: string][] => [
  ["", say("find.all")],
  ["state=open", say("find.open")],
  ...JOB_STAGES.map((stage): [string, string] => [`stage=${stage}`, stageName(stage)]),
  ...RESULTS.map((result): [string, string] => [`result=${result}`, say(`result.${result}`)]),
];

/** The jobs of the record, each with its photograph and what it waits for: all of them, or those that are looked for. */
export class JobFinder extends LitElement {
  static override properties = {
    jobs: { attribute: false },
    open: { attribute: false },
    heard: { type: Boolean },
    found: { state: true },
    more: { state: true },
    all: { state: true },
    problem: { state: true },
  };
  /** The newest, as the daemon tells them by itself. */
  declare jobs: WireJob[];
  /** The job that is open. */
  declare open: string | null;
  /** False while nobody knows which jobs there are. */
  declare heard: boolean;
  /** The terms that were looked for; null: nothing was. */
  declare found: WireJob[] | null;
  declare more: boolean;
  /** Whether the list is shown to its end. */
  declare all: boolean;
  declare problem: string;
  #later: number | undefined;
  #asked = 0;

  static override styles = [
    baseStyle,
    css`
      .list {
        display: grid;
        gap: 0.3rem;
        margin-top: 0.5rem;
      }
      .list button {
        display: grid;
        grid-template-columns: 4.5rem minmax(0, 1fr);
        gap: 0.7rem;
        align-items: center;
        width: 100%;
        padding: 0.3rem 0.5rem;
        text-align: left;
        border-width: 1px;
        overflow-wrap: anywhere;
      }
      .list button[aria-current="true"] {
        border-width: 3px;
      }
      .all {
        margin-top: 0.5rem;
        border-width: 1px;
      }
      .list span span {
        display: block;
        font-weight: 400;
      }
      .list .title {
        display: -webkit-box;
        -webkit-box-orient: vertical;
        -webkit-line-clamp: 3;
        overflow: hidden;
        font-weight: 600;
      }
      .waits {
        font-weight: 600;
      }
      form {
        display: grid;
        grid-template-columns: repeat(auto-fit, minmax(min(100%, 13rem), 1fr));
        gap: 0.5rem;
      }
      input[type="search"] {
        width: 100%;
        min-height: max(2.25rem, var(--touch, 0px));
        padding: 0.3rem 0.5rem;
        border: 1px solid var(--line);
        border-radius: 6px;
        background: var(--ground);
      }
    `,
  ];

  constructor() {
    super();
    this.jobs = [];
    this.open = null;
    this.heard = false;
    this.found = null;
    this.more = false;
    this.all = false;
    this.problem = "";
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.#later);
  }

  override updated(changed: PropertyValues): void {
    // Something was filed: what is found may be another list now.
    if (changed.has("jobs") && this.found !== null) void this.#look();
  }

  override render() {
    const shown = this.found ?? this.jobs;
    return html`<section class="card" aria-label=${say("find.label")}>
      <h2>${say("find.heading")}</h2>
      <form role="search" @submit=${(event: Event) => event.preventDefault()} @input=${this.#onInput}>
        <input type="search" name="words" aria-label=${say("find.words")} placeholder=${say("find.words.such")} autocomplete="off" />
        <select name="which" aria-label=${say("find.which")}>${states().map(([value, words]) => html`<option value=${value}>${words}</option>`)}</select>
      </form>
      ${this.problem === "" ? nothing : html`<p class="problem small" role="alert">✕ ${this.problem}</p>`}
      <ul class="list">
        ${(this.all ? shown : shown.slice(0, FIRST_SHOWN)).map((job) => this.#row(job))}
        ${shown.length === 0 && this.heard ? html`<li class="soft">${say(this.found === null ? "find.none" : "find.no-match")}</li>` : nothing}
      </ul>
      ${this.all || shown.length <= FIRST_SHOWN ? nothing : html`<button class="all" @click=${this.#showAll}>${say("find.rest", { count: shown.length })}</button>`}
      ${this.found !== null && this.more ? html`<p class="small soft">${say("find.more")}</p>` : nothing}
    </section>`;
  }

  #row({ id, title, startedAt, class: drawn, stage, result }: WireJob) {
    const what = [
      drawn === null ? say("no-verdict") : classHeadline(drawn),
      ...(result === undefined ? [] : [stageName(result)]),
    ];
    return html`<li>
      <button aria-current=${id === this.open} @click=${() => this.dispatchEvent(new CustomEvent("open-job", { detail: id }))}>
        <job-thumb .job=${id}></job-thumb>
        <span><span class="title">${title}</span>${stage === undefined ? nothing : html`<span class="small waits">${stageName(stage)}</span>`}<span class="small">${what.join(", ")}, ${momentText(startedAt)}</span></span>
      </button>
    </li>`;
  }

  /** The first job that was hidden has the focus, so that no key falls on what went away. */
  readonly #showAll = async (): Promise<void> => {
    this.all = true;
    await this.updateComplete;
    this.renderRoot.querySelectorAll<HTMLElement>(".list button")[FIRST_SHOWN]?.focus();
  };

  readonly #onInput = (): void => {
    clearTimeout(this.#later);
    this.#later = setTimeout(() => void this.#look(), REST_MS);
  };

  async #look(): Promise<void> {
    const form = this.renderRoot.querySelector("form");
    const data = form === null ? null : new FormData(form);
    const words = String(data?.get("words") ?? "").trim();
    const [key = "", value = ""] = String(data?.get("which") ?? "").split("=");
    const asked = ++this.#asked;
    if (words === "" && key === "") {
      this.found = null;
      return;
    }
    const query = { ...(words === "" ? {} : { words }), ...(key === "" ? {} : { [key]: value }) } as FindQuery;
    const found = await jobRecord.find(query);
    // A later question was asked meanwhile.
    if (asked !== this.#asked) return;
    this.problem = found.ok ? "" : found.because;
    if (!found.ok) return;
    this.found = found.value.jobs;
    this.more = found.value.more;
  }
}
customElements.define("job-finder", JobFinder);
