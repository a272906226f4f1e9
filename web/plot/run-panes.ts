import type { WireRun } from "../../shared/wire.ts";
import type { WireCapturePoints } from "../../shared/wire-job.ts";
import type { TraceStore } from "../page/trace-store.ts";
import type { PlotBound, PlotPane, PlotSeries } from "./plot-series.ts";
import type { Span } from "./plot-span.ts";

/** The things to draw of a run. */
export interface RunToDraw {
  store: TraceStore;
  run: WireRun | null;
  /** Those that are drawn, in their order. */
  feeds: readonly string[];
  /** Of the window that is looked at, where they are finer than the store's; null: none. */
  points: WireCapturePoints | null;
}

/** Amps above and volts below, and from when to when there is anything. */
export function runPanes(of: RunToDraw): { panes: PlotPane[]; whole: Span } {
  const { store, run, feeds } = of;
  const series = (quantity: "amps" | "volts"): PlotSeries[] =>
    feeds.map((feed, look) => pointsOf(of, feed, quantity, look) ?? storedOf(of, feed, quantity, look));
  const settings = (run?.settings ?? []).filter((each) => feeds.includes(each.feed));
  // Limits of several feeds at once would hide the curves behind each other's hatching.
  const bounds = (of: (setting: (typeof settings)[number]) => Pick<PlotBound, "most" | "set">): PlotBound[] =>
    feeds.length > 1
      ? []
      : settings.map((each) => ({
          fromSeconds: each.fromMs / 1000,
          untilSeconds: each.untilMs === null ? null : each.untilMs / 1000,
          ...of(each),
        }));
  const last = Math.max(
    2,
    ...feeds.map((feed) => store.columns(feed).seconds.at(-1) ?? 0),
    ...settings.map((each) => (each.untilMs ?? 0) / 1000),
  );
  return {
    panes: [
      {
        id: "amps",
        unit: "A",
        least: 0.1,
        series: series("amps"),
        bounds: bounds(({ limitAmps }) => ({ most: limitAmps, set: null })),
        band: bandOf(run, feeds),
      },
      {
        id: "volts",
        unit: "V",
        least: 1,
        series: series("volts"),
        bounds: bounds(({ overVolts, volts }) => ({ most: overVolts, set: volts })),
        band: null,
      },
    ],
    whole: { from: 0, to: last },
  };
}

/** The band in which good boards draw, beside the feeds that it was taken of and no others. */
function bandOf(run: WireRun | null, feeds: readonly string[]): PlotPane["band"] {
  const good = run?.goodBoards;
  if (good === undefined || feeds.length !== 1 || good.of.length !== 1 || good.of[0] !== feeds[0]) return null;
  return { low: good.lowAmps, high: good.highAmps };
}

function storedOf({ store }: RunToDraw, feed: string, quantity: "amps" | "volts", look: number): PlotSeries {
  const columns = store.columns(feed);
  return { name: feed, seconds: columns.seconds, mean: columns[quantity], look };
}

function pointsOf({ points }: RunToDraw, feed: string, quantity: "amps" | "volts", look: number): PlotSeries | null {
  const found = points?.feeds.find((each) => each.feed === feed);
  if (found === undefined || found.atMs.length === 0) return null;
  const { least, most, mean } = found[quantity];
  const seconds = found.atMs.map((each, at) => (each + (found.untilMs[at] ?? each)) / 2000);
  // A point that stands for one reading has no least and no most.
  return found.count.some((each) => each > 1)
    ? { name: feed, seconds, mean, least, most, look }
    : { name: feed, seconds, mean, look };
}
