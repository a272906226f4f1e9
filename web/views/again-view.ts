import { css, html, LitElement, nothing } from "lit";
import { sayAmount } from "../../shared/amounts.ts";
import { CLASS_WORDS } from "../../shared/class-words.ts";
import type { WireComparison, WireJobRun, WireJobSheet } from "../../shared/wire-job.ts";
import { jobRecord } from "../record/job-record.ts";
import { baseStyle } from "./base-style.ts";

const FIGURES: Record<string, { name: string; unit: string }> = {
  plateauAmps: { name: "steady current", unit: "A" },
  chargeCoulombs: { name: "charge", unit: "C" },
};
const BEYOND = {
  yes: "more than the meters' error",
  no: "within the meters' error",
  unknown: "whether that is more than the meters' error cannot be said",
};

/** The same again after the repair, and the two runs beside each other. */
export class AgainView extends LitElement {
  static override properties = {
    sheet: { attribute: false },
    compared: { state: true },
    problem: { state: true },
  };
  declare sheet: WireJobSheet | null;
  declare compared: WireComparison | null;
  declare problem: string;

  static override styles = [
    baseStyle,
    css`
      th,
      td {
        vertical-align: top;
        overflow-wrap: anywhere;
      }
    `,
  ];

  constructor() {
    super();
    this.sheet = null;
    this.compared = null;
    this.problem = "";
  }

  override render() {
    const runs = this.#judged();
    return html`<div class="two">
      <section class="card stack" aria-label="The same again">
        <h2>The same again</h2>
        <p>After rework the cold readings come first, then the same power-up under the same conditions: only then is a difference the repair's.</p>
        <div class="row">
          <button @click=${() => this.#turn("cold")}>Take the cold readings again</button>
          <button @click=${() => this.#turn("permit")}>On to the permit</button>
        </div>
      </section>
      <section class="card stack" aria-label="Compare two runs">
        <h2>Before and after</h2>
        ${
          runs.length < 2
            ? html`<p class="soft">Two runs with a verdict are needed; this job has ${runs.length}.</p>`
            : html`<form class="stack" @submit=${this.#compare}>
                <div class="two">${this.#choice("a", "Before", runs, 0)}${this.#choice("b", "After", runs, runs.length - 1)}</div>
                <button type="submit">Compare</button>
              </form>`
        }
        ${this.problem === "" ? nothing : html`<p class="problem" role="alert">✕ ${this.problem}</p>`}
        ${this.compared === null ? nothing : comparison(this.compared)}
      </section>
    </div>`;
  }

  #choice(name: "a" | "b", label: string, runs: WireJobRun[], chosen: number) {
    return html`<label
      ><span class="label">${label}</span>
      <select name=${name}>
        ${runs.map((run, index) => html`<option value=${run.capture} ?selected=${index === chosen}>${new Date(run.startedAt).toLocaleString()}, ${run.verdict?.class ?? ""}</option>`)}
      </select></label
    >`;
  }

  #judged(): WireJobRun[] {
    return this.sheet?.runs.filter((run) => run.verdict !== null) ?? [];
  }

  #turn(step: string): void {
    this.dispatchEvent(new CustomEvent("pick-step", { detail: step }));
  }

  readonly #compare = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    const data = new FormData(event.target as HTMLFormElement);
    const asked = await jobRecord.compare(String(data.get("a")), String(data.get("b")));
    this.compared = asked.ok ? asked.value : null;
    this.problem = asked.ok ? "" : asked.because;
  };
}
customElements.define("again-view", AgainView);

const comparison = ({ classes, figures, notAlike }: WireComparison) => html`<table>
    <thead>
      <tr><th scope="col"></th><th scope="col">Before</th><th scope="col">After</th><th scope="col">Difference</th></tr>
    </thead>
    <tbody>
      <tr><td>draw</td><td>${CLASS_WORDS[classes.a]}</td><td>${CLASS_WORDS[classes.b]}</td><td>${classes.same ? "same" : "another"}</td></tr>
      ${figures.map((each) => {
        const { name, unit } = FIGURES[each.figure] ?? { name: each.figure, unit: "" };
        const say = (value: number | null) => (value === null ? "cannot be known" : sayAmount(value, unit));
        return html`<tr>
          <td>${name}</td>
          <td>${say(each.a)}</td>
          <td>${say(each.b)}</td>
          <td>${each.difference === null ? "–" : html`${sayAmount(each.difference, unit, each.expanded)}, ${BEYOND[each.beyondMeterError]}`}</td>
        </tr>`;
      })}
    </tbody>
  </table>
  ${
    notAlike.length === 0
      ? html`<p class="small">Both were taken alike, as far as was stated.</p>`
      : html`<div class="small"><p><b>Not alike, or not stated:</b></p>
          <ul>${notAlike.map((each) => html`<li>– ${each}</li>`)}</ul></div>`
  }`;
