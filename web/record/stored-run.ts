import { css, html, LitElement, nothing } from "lit";
import type { WireCapturePoints, WireJobRun, WireStoredRun } from "../../shared/wire-job.ts";
import { TraceStore } from "../page/trace-store.ts";
import type { Span } from "../plot/plot-span.ts";
import { saveBlob } from "../plot/save-picture.ts";
import { baseStyle } from "../views/parts/base-style.ts";
import { problem } from "../views/parts/problem.ts";
import type { RunNote } from "../views/power/run-trace.ts";
import { say } from "../words/record.ts";
import { jobRecord } from "./job-record.ts";
import "../views/power/run-trace.ts";
import "../views/power/verdict-card.ts";

/** A window that is looked at gets so many points a feed: more than a wide screen has columns for. */
const MOST_POINTS = 2_000;
/** A hand that zooms asks once it rests, milliseconds. */
const REST_MS = 150;

/** A run out of the record: its trace with the limits that were in force, closer as far as there are readings, and its verdict. */
export class StoredRun extends LitElement {
  static override properties = {
    job: { type: String },
    run: { attribute: false },
    notes: { attribute: false },
    mayNote: { type: Boolean },
    stored: { state: true },
    points: { state: true },
    feed: { state: true },
    problem: { state: true },
  };
  declare job: string;
  declare run: WireJobRun;
  declare notes: readonly RunNote[];
  declare mayNote: boolean;
  declare stored: WireStoredRun | null;
  declare points: WireCapturePoints | null;
  declare feed: string;
  declare problem: string;
  readonly #store = new TraceStore();
  #asking: number | undefined;
  #looked = 0;

  static override styles = [
    baseStyle,
    css`
      :host {
        display: grid;
        gap: 0.6rem;
        padding: 0.4rem 0;
      }
      run-trace {
        height: 28rem;
      }
    `,
  ];

  constructor() {
    super();
    this.notes = [];
    this.mayNote = false;
    this.stored = null;
    this.points = null;
    this.feed = "";
    this.problem = "";
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void this.#load();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.#asking);
  }

  override render() {
    const { stored, run } = this;
    return html`${problem(this.problem)}
      ${
        stored === null
          ? html`<p class="soft" role="status">${this.problem === "" ? say("trace.reading") : ""}</p>`
          : html`<run-trace
              .store=${this.#store}
              .run=${stored.run}
              .feed=${this.feed}
              .feeds=${stored.trace.map((each) => each.feed)}
              .version=${this.#store.version}
              .points=${this.points}
              .notes=${this.notes}
              .mayNote=${this.mayNote}
              @pick-feed=${(event: CustomEvent<string>) => {
                this.feed = event.detail;
              }}
              @look-at=${(event: CustomEvent<Span | null>) => this.#lookAt(event.detail)}
              @note-run=${(event: CustomEvent<RunNote>) => void this.#note(event.detail)}
            ><button slot="tools" @click=${this.#csv}>${say("trace.csv")}</button></run-trace>`
      }
      ${stored?.run.told === undefined ? nothing : html`<ul lang="en">${stored.run.told.map((sentence) => html`<li class="told">${sentence}</li>`)}</ul>`}
      <verdict-card .verdict=${run.verdict} .outcome=${run.outcome} .startedAt=${run.startedAt}></verdict-card>`;
  }

  async #load(): Promise<void> {
    const asked = await jobRecord.run(this.job, this.run.run);
    if (!asked.ok) {
      this.problem = asked.because;
      return;
    }
    this.#store.show(asked.value.run, asked.value.trace);
    this.feed = asked.value.run.outcome?.trip?.feed ?? this.#store.busiest() ?? asked.value.trace[0]?.feed ?? "";
    this.stored = asked.value;
    this.#lookAt(null);
  }

  /** Brings the readings of the window that is looked at; an answer for an earlier one is dropped. */
  #lookAt(span: Span | null): void {
    clearTimeout(this.#asking);
    const looked = ++this.#looked;
    this.#asking = setTimeout(async () => {
      const window = span ?? { from: 0, to: 1e9 };
      const asked = await jobRecord.points(this.job, this.run.capture, window, MOST_POINTS);
      if (looked !== this.#looked) return;
      // Without them the thinned trace is drawn, which is no less true.
      this.points = asked.ok ? asked.value : null;
    }, REST_MS);
  }

  async #note({ atMs, text }: RunNote): Promise<void> {
    const filed = await jobRecord.file(this.job, { kind: "note", text, of: { run: this.run.run, atMs } });
    this.problem = filed.ok ? "" : filed.because;
  }

  readonly #csv = async (): Promise<void> => {
    const made = await jobRecord.made(`/api/jobs/${this.job}/runs/${this.run.run}/csv`);
    this.problem = made.ok ? "" : made.because;
    if (made.ok) saveBlob(made.value, `run-${this.run.run.slice(-8)}.csv`);
  };
}
customElements.define("stored-run", StoredRun);
