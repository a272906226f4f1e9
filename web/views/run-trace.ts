import { css, html, LitElement, nothing, unsafeCSS } from "lit";
import uPlot from "uplot";
import chartStyle from "uplot/dist/uPlot.min.css?inline";
import type { WireRun } from "../../shared/wire.ts";
import { inForce, type TraceStore } from "../page/trace-store.ts";
import { baseStyle } from "./base-style.ts";
import { STAGE_WORDS } from "./stage-words.ts";

/** Amps above, volts below, over the same seconds, each with the limits that were in force drawn against it. */
export class RunTrace extends LitElement {
  static override properties = {
    store: { attribute: false },
    run: { attribute: false },
    feed: { type: String },
    // The page hands a new list with every beat; to draw again for the same names is wasted.
    feeds: { attribute: false, hasChanged: (now: string[], before?: string[]) => now.join() !== before?.join() },
    version: { type: Number },
  };
  declare store: TraceStore;
  declare run: WireRun | null;
  declare feed: string;
  declare feeds: string[];
  /** The store's own count of its changes. */
  declare version: number;
  #charts: uPlot[] = [];
  #watching: ResizeObserver | null = null;
  readonly #dark = matchMedia("(prefers-color-scheme: dark)");
  readonly #redraw = (): void => this.#make();

  static override styles = [
    unsafeCSS(chartStyle),
    baseStyle,
    css`
      :host {
        height: 100%;
        min-height: 15rem;
      }
      .card {
        height: 100%;
        display: flex;
        flex-direction: column;
        padding: 0.5rem 0.8rem;
      }
      .top {
        display: flex;
        flex-wrap: wrap;
        gap: 0.3rem 1.4rem;
        align-items: center;
      }
      fieldset {
        display: flex;
        gap: 0.2rem 1rem;
        border: 0;
        margin: 0;
        padding: 0;
        flex-wrap: wrap;
      }
      label {
        display: flex;
        gap: 0.35rem;
        align-items: center;
        min-height: 1.6rem;
      }
      input[type="radio"] {
        width: 1.1rem;
        height: 1.1rem;
        margin: 0;
        accent-color: var(--calm);
      }
      .key {
        margin-left: auto;
        display: flex;
        gap: 1rem;
      }
      .key span::before {
        content: "";
        display: inline-block;
        width: 1.6rem;
        margin-right: 0.4rem;
        vertical-align: 0.25em;
        border-top: 3px solid var(--trace);
      }
      .key .limit::before {
        border-top: 3px dashed var(--limit);
      }
      .key .set::before {
        border-top: 2px dotted var(--set);
      }
      .charts {
        position: relative;
        flex: 1;
        min-height: 0;
        display: grid;
        grid-template-rows: minmax(0, 1fr) minmax(0, 1fr);
      }
      .empty {
        position: absolute;
        inset: 0;
        display: grid;
        place-items: center;
        font-size: 1.125rem;
      }
      .charts[data-empty="yes"] > div {
        visibility: hidden;
      }
      .charts > div {
        min-height: 0;
        min-width: 0;
        overflow: hidden;
      }
    `,
  ];

  constructor() {
    super();
    this.run = null;
    this.feed = "";
    this.feeds = [];
    this.version = 0;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#dark.addEventListener("change", this.#redraw);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#dark.removeEventListener("change", this.#redraw);
    this.#watching?.disconnect();
    for (const chart of this.#charts.splice(0)) chart.destroy();
  }

  override render() {
    return html`<section class="card" aria-label="Trace of the run">
      <div class="top">
        <fieldset>
          <legend class="unseen">Feed to draw</legend>
          ${this.feeds.map(
            (feed) => html`<label
              ><input type="radio" name="feed" .checked=${feed === this.feed} @change=${() => this.#pick(feed)} />${feed}</label
            >`,
          )}
        </fieldset>
        <p class="key small" aria-hidden="true">
          <span>measured</span><span class="limit">limit</span><span class="set">set</span>
        </p>
      </div>
      <div class="charts" data-empty=${this.version === 0 ? "yes" : "no"} role="img" aria-label=${this.#inWords()}>
        ${this.version === 0 ? html`<p class="empty soft">The trace begins with the run.</p>` : nothing}
        <div id="amps"></div>
        <div id="volts"></div>
      </div>
    </section>`;
  }

  override firstUpdated(): void {
    this.#make();
    this.#watching = new ResizeObserver(() => this.#fit());
    for (const place of this.#places()) this.#watching.observe(place);
  }

  override updated(): void {
    this.#draw();
  }

  #draw(): void {
    const columns = this.store.columns(this.feed);
    const stages = this.run?.stages ?? [];
    const [amps, volts] = this.#charts;
    const of = (pick: Parameters<typeof inForce>[3]) => inForce(columns.seconds, stages, this.feed, pick);
    amps?.setData([columns.seconds, columns.amps, of((each) => each.limitAmps)]);
    volts?.setData([columns.seconds, columns.volts, of((each) => each.overVolts), of((each) => each.volts)]);
  }

  #pick(feed: string): void {
    this.dispatchEvent(new CustomEvent("pick-feed", { detail: feed }));
  }

  #inWords(): string {
    const { seconds, volts, amps } = this.store.columns(this.feed);
    const greatest = Math.max(0, ...amps.slice(-2_000).map((each) => each ?? 0));
    const last = seconds.at(-1);
    if (last === undefined) return `${this.feed || "no feed"}: nothing drawn yet`;
    return `${this.feed}: ${last.toFixed(1)} s drawn, now ${volts.at(-1) ?? "no"} V and ${amps.at(-1) ?? "no"} A, at most ${greatest} A`;
  }

  #places(): HTMLElement[] {
    return ["#amps", "#volts"].flatMap((id) => this.renderRoot.querySelector<HTMLElement>(id) ?? []);
  }

  #make(): void {
    for (const chart of this.#charts.splice(0)) chart.destroy();
    const colour = (name: string) => getComputedStyle(this).getPropertyValue(name).trim();
    const axis = {
      stroke: colour("--ink-soft"),
      grid: { stroke: colour("--hair"), width: 1 },
      ticks: { show: false },
      font: "13px sans-serif",
    };
    const measured = { stroke: colour("--trace"), width: 2.5, points: { show: false }, spanGaps: false };
    const limit = { stroke: colour("--limit"), width: 2.5, dash: [9, 6], points: { show: false } };
    const set = { stroke: colour("--set"), width: 1.5, dash: [2, 4], points: { show: false } };
    const chart = (place: HTMLElement, unit: string, lines: uPlot.Series[], least: number) =>
      new uPlot(
        {
          width: Math.max(50, place.clientWidth),
          height: Math.max(50, place.clientHeight),
          legend: { show: false },
          cursor: { show: false },
          padding: [10, 12, 0, 0],
          scales: {
            x: { time: false, range: (_chart, _from, until) => [0, Math.max(2, until ?? 0)] },
            y: { range: (_chart, low, high) => [Math.min(0, low ?? 0), Math.max(least, (high ?? 0) * 1.2)] },
          },
          axes: [
            { ...axis, size: 26, values: (_chart, marks) => marks.map((mark) => `${mark} s`) },
            { ...axis, size: 58, values: (_chart, marks) => marks.map((mark) => `${mark} ${unit}`) },
          ],
          series: [{}, ...lines],
          hooks: {
            drawAxes: [(drawn) => this.#stageMarks(drawn, colour("--line"), colour("--ink-soft"), unit === "A")],
          },
        },
        [[], ...lines.map(() => [])],
        place,
      );
    const [ampsPlace, voltsPlace] = this.#places();
    if (ampsPlace === undefined || voltsPlace === undefined) return;
    this.#charts = [chart(ampsPlace, "A", [measured, limit], 0.1), chart(voltsPlace, "V", [measured, limit, set], 1)];
    this.#draw();
  }

  /** A thin line where each stage began, named in the upper chart. */
  #stageMarks(chart: uPlot, line: string, ink: string, named: boolean): void {
    const context = chart.ctx;
    const { left, top, width, height } = chart.bbox;
    const ratio = devicePixelRatio;
    context.save();
    context.font = `${12 * ratio}px sans-serif`;
    context.textBaseline = "top";
    context.textAlign = "left";
    let free = left;
    for (const stage of this.run?.stages ?? []) {
      const startedAtMs = stage.feeds.find((each) => each.feed === this.feed)?.startedAtMs;
      if (startedAtMs == null || stage.stage === "check") continue;
      const x = Math.round(chart.valToPos(startedAtMs / 1000, "x", true));
      if (x < left || x > left + width) continue;
      context.fillStyle = line;
      context.fillRect(x, top, ratio, height);
      const name = STAGE_WORDS[stage.stage].name;
      // Stages of a few milliseconds lie on top of each other: a name that has no room is left out.
      if (!named || x < free || x + context.measureText(name).width > left + width) continue;
      context.fillStyle = ink;
      context.fillText(name, x + 4 * ratio, top + 2 * ratio);
      free = x + context.measureText(name).width + 10 * ratio;
    }
    context.restore();
  }

  #fit(): void {
    for (const [index, place] of this.#places().entries()) {
      if (place.clientWidth > 0 && place.clientHeight > 0) {
        this.#charts[index]?.setSize({ width: place.clientWidth, height: place.clientHeight });
      }
    }
  }
}
customElements.define("run-trace", RunTrace);
