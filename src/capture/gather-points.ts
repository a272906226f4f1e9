import { type Summary, takeInto, type ValueSummary } from "./capture-summary.ts";

/** A part of a capture to look at, both ends included, milliseconds of the run; `most` points a feed at most. */
export interface CaptureWindow {
  fromMs: number;
  toMs: number;
  most: number;
}

export interface PointGatherer {
  /** Takes the next summary of a feed in order of time; where it lies is told by its first reading. */
  take(feed: string, summary: Summary): void;
  /** Takes the next reading of a feed; NaN is no number. One outside the window is left out. */
  takeReading(feed: string, atMs: number, volts: number, amps: number): void;
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
  /** The point that what begins at `atMs` belongs to; null: it is the first of its part. */
  const pointAt = (feed: string, atMs: number): Summary | null => {
    const part = partOf(atMs);
    const known = found.get(feed);
    if (known?.part === part) return known.points.at(-1) ?? null;
    if (known === undefined) found.set(feed, { part, points: [] });
    else known.part = part;
    return null;
  };
  return {
    take(feed, summary) {
      const point = pointAt(feed, summary.fromMs);
      if (point !== null) takeInto(point, summary);
      else found.get(feed)?.points.push({ ...summary, volts: { ...summary.volts }, amps: { ...summary.amps } });
    },
    takeReading(feed, atMs, volts, amps) {
      if (atMs < fromMs || atMs > toMs) return;
      let point = pointAt(feed, atMs);
      if (point === null) {
        point = { fromMs: atMs, toMs: atMs, n: 0, volts: nothing(), amps: nothing() };
        found.get(feed)?.points.push(point);
      }
      point.toMs = atMs;
      point.n++;
      takeNumber(point.volts, volts);
      takeNumber(point.amps, amps);
    },
    feeds: () => new Map([...found].map(([feed, { points }]) => [feed, points])),
  };
}

const nothing = (): ValueSummary => ({ n: 0, least: Number.NaN, most: Number.NaN, sum: 0 });

function takeNumber(summary: ValueSummary, value: number): void {
  if (Number.isNaN(value)) return;
  if (summary.n === 0 || value < summary.least) summary.least = value;
  if (summary.n === 0 || value > summary.most) summary.most = value;
  summary.n++;
  summary.sum += value;
}
