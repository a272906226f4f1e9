import { css, html, LitElement } from "lit";
import type { WireReading } from "../../../shared/wire.ts";
import type { WireStoredRun } from "../../../shared/wire-job.ts";
import type { PlotPane, PlotSeries } from "../../plot/plot-series.ts";
import { say } from "../../words/record.ts";
import { say as sayOfPage } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";
import { momentText } from "../parts/figures.ts";
import "../../plot/time-plot.ts";

/** The currents of two runs over the same seconds, each in a look of its own. */
export class TwoTraces extends LitElement {
  static override properties = { a: { attribute: false }, b: { attribute: false }, feed: { state: true } };
  declare a: WireStoredRun;
  declare b: WireStoredRun;
  declare feed: string;

  static override styles = [
    baseStyle,
    css`
      time-plot {
        height: clamp(18rem, 45vh, 36rem);
      }
    `,
  ];

  constructor() {
    super();
    this.feed = "";
  }

  override render() {
    const feeds = [...new Set([...this.a.trace, ...this.b.trace].map((each) => each.feed))];
    const feed = feeds.includes(this.feed) ? this.feed : (busiest(this.b) ?? feeds[0] ?? "");
    const series = [seriesOf(this.a, feed, 1), seriesOf(this.b, feed, 0)];
    const pane: PlotPane = { id: "amps", unit: "A", least: 0.01, series, bounds: [], band: null };
    const whole = { from: 0, to: Math.max(1, ...series.map((each) => each.seconds.at(-1) ?? 0)) };
    return html`<time-plot .panes=${[pane]} .whole=${whole} .caption=${say("compare.laid", { feed })}>
      <label class="row small"><span class="label">${sayOfPage("start.feed")}</span><select @change=${(
        event: Event,
      ) => {
        this.feed = (event.target as HTMLSelectElement).value;
      }}>${feeds.map((each) => html`<option ?selected=${each === feed}>${each}</option>`)}</select></label>
    </time-plot>`;
  }
}
customElements.define("two-traces", TwoTraces);

function seriesOf({ run, trace }: WireStoredRun, feed: string, look: number): PlotSeries {
  const readings = trace.find((each) => each.feed === feed)?.readings ?? [];
  return {
    name: momentText(run.startedAt),
    seconds: readings.map((each) => each.atMs / 1000),
    mean: readings.map(ampsOf),
    look,
  };
}

function busiest({ trace }: WireStoredRun): string | null {
  const most = trace.map(({ feed, readings }) => ({
    feed,
    amps: Math.max(0, ...readings.map((each) => ampsOf(each) ?? 0)),
  }));
  return most.toSorted((a, b) => b.amps - a.amps)[0]?.feed ?? null;
}

const ampsOf = ({ amps }: WireReading): number | null => (amps.kind === "value" ? amps.amps : null);
