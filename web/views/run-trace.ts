import { css, html, LitElement, nothing } from "lit";
import type { WireRun } from "../../shared/wire.ts";
import { drawPlot, type PlotColours } from "../page/trace-plot.ts";
import type { TraceStore } from "../page/trace-store.ts";
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
    frozen: { type: Boolean, reflect: true },
  };
  declare store: TraceStore;
  declare run: WireRun | null;
  declare feed: string;
  declare feeds: string[];
  /** The store's own count of its changes. */
  declare version: number;
  /** True while the daemon is out of hearing: the trace ends where it was heard last. */
  declare frozen: boolean;
  #watching: ResizeObserver | null = null;
  readonly #dark = matchMedia("(prefers-color-scheme: dark)");
  readonly #redraw = (): void => this.#draw();

  static override styles = [
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
      :host([frozen]) .charts {
        filter: grayscale(1);
        opacity: 0.6;
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
      canvas {
        display: block;
        width: 100%;
        height: 100%;
      }
    `,
  ];

  constructor() {
    super();
    this.run = null;
    this.feed = "";
    this.feeds = [];
    this.version = 0;
    this.frozen = false;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#dark.addEventListener("change", this.#redraw);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#dark.removeEventListener("change", this.#redraw);
    this.#watching?.disconnect();
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
        <div id="amps"><canvas></canvas></div>
        <div id="volts"><canvas></canvas></div>
      </div>
    </section>`;
  }

  override firstUpdated(): void {
    this.#watching = new ResizeObserver(() => this.#draw());
    for (const canvas of this.renderRoot.querySelectorAll("canvas")) {
      if (canvas.parentElement !== null) this.#watching.observe(canvas.parentElement);
    }
  }

  override updated(): void {
    this.#draw();
  }

  #draw(): void {
    const [amps, volts] = this.renderRoot.querySelectorAll("canvas");
    if (amps === undefined || volts === undefined) return;
    const styles = getComputedStyle(this);
    const colour = (name: string): string => styles.getPropertyValue(name).trim();
    const colours: PlotColours = {
      trace: colour("--trace"),
      limit: colour("--limit"),
      set: colour("--set"),
      soft: colour("--ink-soft"),
      hair: colour("--hair"),
      line: colour("--line"),
    };
    const rem = Number.parseFloat(getComputedStyle(document.documentElement).fontSize);
    const { seconds, ...columns } = this.store.columns(this.feed);
    const settings = (this.run?.settings ?? []).filter((each) => each.feed === this.feed);
    const stages = (this.run?.stages ?? []).flatMap(({ stage, feeds }) => {
      const startedAtMs = feeds.find((each) => each.feed === this.feed)?.startedAtMs;
      return startedAtMs == null || stage === "check"
        ? []
        : [{ seconds: startedAtMs / 1000, name: STAGE_WORDS[stage].name }];
    });
    const common = { seconds, settings };
    for (const canvas of [amps, volts]) sizeToPlace(canvas);
    drawPlot(
      amps,
      { ...common, values: columns.amps, bound: "limitAmps", showsSet: false, unit: "A", least: 0.1, stages },
      colours,
      rem,
      devicePixelRatio,
    );
    drawPlot(
      volts,
      {
        ...common,
        values: columns.volts,
        bound: "overVolts",
        showsSet: true,
        unit: "V",
        least: 1,
        stages: stages.map((each) => ({ ...each, name: "" })),
      },
      colours,
      rem,
      devicePixelRatio,
    );
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
}
customElements.define("run-trace", RunTrace);

/** As many pixels as it has room for on the screen, and no more. */
function sizeToPlace(canvas: HTMLCanvasElement): void {
  const place = canvas.parentElement;
  if (place === null) return;
  const [width, height] = [
    Math.round(place.clientWidth * devicePixelRatio),
    Math.round(place.clientHeight * devicePixelRatio),
  ];
  if (width === 0 || height === 0 || (canvas.width === width && canvas.height === height)) return;
  canvas.width = width;
  canvas.height = height;
}
