import { css, html, LitElement, nothing } from "lit";
import type { WireJobRun, WireStoredRun } from "../../shared/wire-job.ts";
import { TraceStore } from "../page/trace-store.ts";
import { baseStyle } from "../views/base-style.ts";
import { jobRecord } from "./job-record.ts";
import "../views/run-trace.ts";
import "../views/verdict-card.ts";

/** A run out of the record: its trace with the limits that were in force, and its verdict. */
export class StoredRun extends LitElement {
  static override properties = {
    job: { type: String },
    run: { attribute: false },
    stored: { state: true },
    feed: { state: true },
    problem: { state: true },
  };
  declare job: string;
  declare run: WireJobRun;
  declare stored: WireStoredRun | null;
  declare feed: string;
  declare problem: string;
  readonly #store = new TraceStore();

  static override styles = [
    baseStyle,
    css`
      :host {
        display: grid;
        gap: 0.6rem;
        padding: 0.4rem 0;
      }
      run-trace {
        height: 22rem;
      }
    `,
  ];

  constructor() {
    super();
    this.stored = null;
    this.feed = "";
    this.problem = "";
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void this.#load();
  }

  override render() {
    const { stored, run } = this;
    return html`${this.problem === "" ? nothing : html`<p class="problem" role="alert">✕ ${this.problem}</p>`}
      ${
        stored === null
          ? html`<p class="soft" role="status">${this.problem === "" ? "The trace is being read." : ""}</p>`
          : html`<run-trace
              .store=${this.#store}
              .run=${stored.run}
              .feed=${this.feed}
              .feeds=${stored.trace.map((each) => each.feed)}
              .version=${this.#store.version}
              @pick-feed=${(event: CustomEvent<string>) => {
                this.feed = event.detail;
              }}
            ></run-trace>`
      }
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
  }
}
customElements.define("stored-run", StoredRun);
