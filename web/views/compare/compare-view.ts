import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import type { WireComparison, WireJobRun, WireJobSheet, WireStoredRun } from "../../../shared/wire-job.ts";
import { sayAmount } from "../../../shared/words/amounts.ts";
import { jobRecord } from "../../record/job-record.ts";
import { roundsOf } from "../../record/rounds.ts";
import { say } from "../../words/record.ts";
import { say as sayOfRun } from "../../words/verdict.ts";
import { local } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";
import { classHeadline, className } from "../parts/draw-words.ts";
import { momentText } from "../parts/figures.ts";
import { foldedTable } from "../parts/folded-table.ts";
import { problem } from "../parts/problem.ts";
import "./two-traces.ts";

const FIGURES: Record<string, { name: () => string; unit: string }> = {
  plateauAmps: { name: () => sayOfRun("figure.plateau"), unit: "A" },
  chargeCoulombs: { name: () => say("compare.charge"), unit: "C" },
};

/** Two runs beside each other, their curves laid over each other. A repair lies between before and after. */
export class CompareView extends LitElement {
  static override properties = {
    sheet: { attribute: false },
    compared: { state: true },
    traces: { state: true },
    problem: { state: true },
  };
  declare sheet: WireJobSheet | null;
  declare compared: WireComparison | null;
  declare traces: { a: WireStoredRun; b: WireStoredRun } | null;
  declare problem: string;

  static override styles = [
    baseStyle,
    foldedTable,
    css`
      th,
      td {
        vertical-align: top;
        overflow-wrap: break-word;
      }
    `,
  ];

  constructor() {
    super();
    this.sheet = null;
    this.compared = null;
    this.traces = null;
    this.problem = "";
  }

  override willUpdate(changed: PropertyValues): void {
    const before = changed.get("sheet") as WireJobSheet | null | undefined;
    if (!changed.has("sheet") || before?.id === this.sheet?.id) return;
    this.compared = null;
    this.traces = null;
    this.problem = "";
  }

  override render() {
    const { sheet } = this;
    if (sheet === null) return html`<section class="card"><p>${say("compare.no-job")}</p></section>`;
    const runs = sheet.runs.filter((run) => run.verdict !== null);
    const rounds = roundsOf(sheet);
    const roundOf = (run: WireJobRun): number => rounds.find((each) => each.runs.includes(run))?.number ?? 1;
    const last = rounds.length;
    // Before is the last run of the round before the repair, after the last since: a run before a repair shows nothing of it.
    const after = runs.findLast((run) => roundOf(run) === last);
    const before = runs.findLast((run) => roundOf(run) < last) ?? runs.find((run) => run !== after);
    return html`<section class="card stack" aria-label=${say("compare.label")}>
      <h2>${say("compare.heading")}</h2>
      ${last > 1 && after === undefined ? html`<p><b>${say("compare.not-since")}</b> ${say("compare.not-since.do")}</p>` : nothing}
      ${
        runs.length < 2
          ? html`<p class="soft">${say("compare.needs", { count: runs.length })}</p>`
          : html`<form class="stack" @submit=${this.#compare}>
              <div class="two">${choice("a", say("compare.one"), runs, before, roundOf)}${choice("b", say("compare.other"), runs, after ?? runs.at(-1), roundOf)}</div>
              <div class="row"><button class="main" type="submit">${say("compare.go")}</button></div>
            </form>`
      }
      ${problem(this.problem)}
      ${this.compared === null ? nothing : comparison(this.compared)}
      ${this.traces === null ? nothing : html`<two-traces .a=${this.traces.a} .b=${this.traces.b}></two-traces>`}
    </section>`;
  }

  readonly #compare = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    const { sheet } = this;
    if (sheet === null) return;
    const data = new FormData(event.target as HTMLFormElement);
    const [a, b] = [String(data.get("a")), String(data.get("b"))];
    const asked = await jobRecord.compare(a, b);
    this.compared = asked.ok ? asked.value : null;
    this.problem = asked.ok ? "" : asked.because;
    this.traces = null;
    if (!asked.ok) return;
    const read = (capture: string) => {
      const run = sheet.runs.find((each) => each.capture === capture);
      return run === undefined ? null : jobRecord.run(sheet.id, run.run);
    };
    const [one, other] = await Promise.all([read(a), read(b)]);
    if (one?.ok === true && other?.ok === true) this.traces = { a: one.value, b: other.value };
  };
}
customElements.define("compare-view", CompareView);

const choice = (
  name: "a" | "b",
  label: string,
  runs: WireJobRun[],
  chosen: WireJobRun | undefined,
  roundOf: (run: WireJobRun) => number,
) => html`<label
    ><span class="label">${label}</span>
    <select name=${name}>
      ${runs.map((run) => html`<option value=${run.capture} ?selected=${run === chosen}>${say("compare.run", { number: roundOf(run), time: momentText(run.startedAt), draw: run.verdict === null ? "" : className(run.verdict.class) })}</option>`)}
    </select></label
  >`;

const comparison = ({ a, b, classes, figures, notAlike }: WireComparison) => html`<table class="folded" role="table">
    <thead role="rowgroup">
      <tr role="row"><th role="columnheader" scope="col"></th><th role="columnheader" scope="col">${momentText(a.startedAt)}</th><th role="columnheader" scope="col">${momentText(b.startedAt)}</th><th role="columnheader" scope="col">${say("compare.difference")}</th></tr>
    </thead>
    <tbody role="rowgroup">
      <tr role="row"><td role="cell">${say("compare.draw")}</td><td role="cell">${classHeadline(classes.a)}</td><td role="cell">${classHeadline(classes.b)}</td><td role="cell">${say(classes.same ? "compare.same" : "compare.another")}</td></tr>
      ${figures.map((each) => {
        const { name, unit } = FIGURES[each.figure] ?? { name: () => each.figure, unit: "" };
        const told = (value: number | null) =>
          value === null ? say("compare.unknown") : local(sayAmount(value, unit));
        return html`<tr role="row">
          <td role="cell">${name()}</td>
          <td role="cell">${told(each.a)}</td>
          <td role="cell">${told(each.b)}</td>
          <td role="cell">${each.difference === null ? "–" : html`${local(sayAmount(each.difference, unit, each.expanded))}, ${say(`compare.beyond.${each.beyondMeterError}`)}`}</td>
        </tr>`;
      })}
    </tbody>
  </table>
  ${
    notAlike.length === 0
      ? html`<p class="small">${say("compare.alike")}</p>`
      : html`<div class="small"><p><b>${say("compare.unlike")}</b></p>
          <ul lang="en">${notAlike.map((each) => html`<li>– ${each}</li>`)}</ul></div>`
  }`;
