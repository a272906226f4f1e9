import { css, html, LitElement, nothing } from "lit";
import type { JobEventOf } from "../../../shared/record/job.ts";
import type { WireJobSheet } from "../../../shared/wire-job.ts";
import { jobRecord } from "../../record/job-record.ts";
import { say } from "../../words/job.ts";
import { baseStyle } from "../parts/base-style.ts";
import { problem } from "../parts/problem.ts";
import { withHelp } from "../parts/with-help.ts";

type Part = JobEventOf<"repair">["parts"][number];
const SOURCES: Part["source"][] = ["unknown", "new", "donor", "reused"];

/** The work done on the board, with the parts and where they came from. Cold readings before it count no more. */
export class WorkView extends LitElement {
  static override properties = {
    sheet: { attribute: false },
    mayWrite: { type: Boolean },
    parts: { state: true },
    problem: { state: true },
    said: { state: true },
  };
  declare sheet: WireJobSheet | null;
  declare mayWrite: boolean;
  /** The number of rows for parts that are shown. */
  declare parts: number;
  declare problem: string;
  declare said: string;

  static override styles = [
    baseStyle,
    css`
      .part {
        display: flex;
        flex-wrap: wrap;
        gap: 0.5rem;
      }
      .part > * {
        flex: 1 1 8rem;
        width: auto;
        min-width: 0;
      }
      .part + .part {
        padding-top: 0.5rem;
        border-top: 1px solid var(--hair);
      }
      .words {
        white-space: pre-wrap;
        overflow-wrap: anywhere;
        border-top: 1px solid var(--hair);
        padding: 0.3rem 0;
        max-width: 46rem;
      }
    `,
  ];

  constructor() {
    super();
    this.sheet = null;
    this.mayWrite = false;
    this.parts = 1;
    this.problem = "";
    this.said = "";
  }

  override render() {
    const done = this.sheet?.events.filter((each) => each.kind === "repair") ?? [];
    return html`<div class="two">
      <section class="card" aria-label=${say("work.label")}>
        <form class="stack" @submit=${this.#file}>
          <h2>${say("work.heading")}${this.sheet === null ? "" : html` <span class="soft">${say("work.to", { job: this.sheet.title ?? this.sheet.short })}</span>`}</h2>
          <p class="small">${say("work.ends")}</p>
          ${this.sheet === null ? html`<p>${say("work.no-job")}</p>` : nothing}
          ${withHelp("repair", html`<label><span class="label">${say("work.text")}</span><textarea name="text" rows="4" maxlength="10000" required></textarea></label>`)}
          <fieldset>
            <legend>${say("work.parts")}</legend>
            ${Array.from({ length: this.parts }, (_, index) => this.#part(index + 1))}
          </fieldset>
          <div class="row">
            <button type="button" @click=${() => {
              this.parts += 1;
            }}>${say("work.another")}</button>
            <button class="main" type="submit" ?disabled=${!this.mayWrite || this.sheet === null}>${say("work.submit")}</button>
          </div>
          ${problem(this.problem)}
          <p class="small" role="status">${this.said}</p>
        </form>
      </section>
      <section class="card" aria-label=${say("work.so-far")}>
        <h2>${say("work.so-far")}</h2>
        ${done.length === 0 ? html`<p class="soft">${say("work.none")}</p>` : done.map((each) => html`<p class="words">${each.text}</p>`)}
      </section>
    </div>`;
  }

  #part(count: number) {
    return html`<div class="part">
      <input type="text" name="name" aria-label=${say("work.part", { count })} placeholder=${say("work.part.such")} maxlength="200" />
      <input type="text" name="place" aria-label=${say("work.place", { count })} placeholder=${say("work.place.such")} maxlength="200" />
      <select name="source" aria-label=${say("work.source", { count })}>
        ${SOURCES.map((source) => html`<option value=${source}>${say(`source.${source}`)}</option>`)}
      </select>
    </div>`;
  }

  readonly #file = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    if (this.sheet === null) return;
    const form = event.target as HTMLFormElement;
    const data = new FormData(form);
    const [names, places, sources] = [data.getAll("name"), data.getAll("place"), data.getAll("source")];
    const parts = names.flatMap((each, index): Part[] => {
      const [name, place] = [String(each).trim(), String(places[index] ?? "").trim()];
      return name === ""
        ? []
        : [{ name, place: place === "" ? null : place, source: sources[index] as Part["source"] }];
    });
    const filed = await jobRecord.file(this.sheet.id, { kind: "repair", text: String(data.get("text")), parts });
    this.problem = filed.ok ? "" : filed.because;
    this.said = filed.ok ? say("work.filed") : "";
    if (!filed.ok) return;
    form.reset();
    this.parts = 1;
    this.dispatchEvent(new CustomEvent("board-changed"));
  };
}
customElements.define("work-view", WorkView);
