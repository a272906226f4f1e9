import type { DrawTrace } from "../../shared/draw-input.ts";
import { StageName } from "../../shared/plan.ts";
import { driftOf } from "../analysis/drift.ts";
import { evenFinite } from "../analysis/even-out.ts";

export interface FeedDrift {
  startAmps: number;
  endAmps: number;
  driftAmpsPerMin: number;
  /** Of the mean level, a minute; null for a draw of nothing. */
  sharePerMin: number | null;
  /** Slope of the first half and of the second: a healthy climb flattens. */
  firstHalfAmpsPerMin: number;
  secondHalfAmpsPerMin: number;
}

export interface SoakFigures {
  askedSeconds: number;
  heldSeconds: number;
  /** By feed; null where there are too few readings. */
  feeds: Record<string, FeedDrift | null>;
}

const WATCH = StageName.options.indexOf("watch");

/** The movement of each feed's current while a board was watched, from the run's traces. */
export function soakFigures(traces: readonly DrawTrace[], asked: { askedSeconds: number }): SoakFigures {
  let heldSeconds = 0;
  const feeds = traces.map((trace): [string, FeedDrift | null] => {
    const from = trace.stage?.indexOf(WATCH) ?? -1;
    if (from < 0) return [trace.feed, null];
    const to = (trace.stage?.lastIndexOf(WATCH) ?? -1) + 1;
    heldSeconds = Math.max(heldSeconds, ((trace.atMs[to - 1] ?? 0) - (trace.atMs[from] ?? 0)) / 1000);
    // Rows of a long watch are thinned where they are level, and would count by number, not by time.
    const even = evenFinite(trace.atMs.slice(from, to), trace.amps.slice(from, to), trace.readEveryMs !== undefined);
    const drift = driftOf(even.atMs, even.values);
    if (drift === null) return [trace.feed, null];
    const level = (drift.startLevel + drift.endLevel) / 2;
    return [
      trace.feed,
      {
        startAmps: drift.startLevel,
        endAmps: drift.endLevel,
        driftAmpsPerMin: drift.perMin,
        sharePerMin: level > 0 ? drift.perMin / level : null,
        firstHalfAmpsPerMin: drift.firstHalfPerMin,
        secondHalfAmpsPerMin: drift.secondHalfPerMin,
      },
    ];
  });
  return { ...asked, heldSeconds, feeds: Object.fromEntries(feeds) };
}
