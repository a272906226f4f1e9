import { type Summary, takeInto } from "./capture-summary.ts";

/** A part of a capture to look at, both ends included, milliseconds of the run; `most` points a feed at most. */
export interface CaptureWindow {
  fromMs: number;
  toMs: number;
  most: number;
}

export interface PointGatherer {
  /** Takes the next summary of a feed in order of time; where it lies is told by its first reading. */
  take(feed: string, summary: Summary): void;
  /** The points of each feed, in order of time. */
  feeds(): Map<string, Summary[]>;
}

/**
 * Gathers summaries into at most `most` points a feed: the window is cut into so many even parts of time, and what begins in one
 * part is one point. A part in which nothing begins has none. Summaries that are handed in are not changed.
 */
export function gatherPoints({ fromMs, toMs, most }: CaptureWindow): PointGatherer {
  const found = new Map<string, { part: number; points: Summary[] }>();
  const partMs = (toMs - fromMs) / most;
  const partOf = (atMs: number): number =>
    partMs > 0 ? Math.min(most - 1, Math.max(0, Math.floor((atMs - fromMs) / partMs))) : 0;
  return {
    take(feed, summary) {
      const part = partOf(summary.fromMs);
      const known = found.get(feed);
      const last = known?.points.at(-1);
      if (known !== undefined && last !== undefined && known.part === part) {
        takeInto(last, summary);
        return;
      }
      const copy = { ...summary, volts: { ...summary.volts }, amps: { ...summary.amps } };
      if (known === undefined) found.set(feed, { part, points: [copy] });
      else {
        known.part = part;
        known.points.push(copy);
      }
    },
    feeds: () => new Map([...found].map(([feed, { points }]) => [feed, points])),
  };
}
