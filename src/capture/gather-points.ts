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
  const found = new Map<string, Gathered>();
  const partMs = (toMs - fromMs) / most;
  const partOf = (atMs: number): number =>
    partMs > 0 ? Math.min(most - 1, Math.max(0, Math.floor((atMs - fromMs) / partMs))) : 0;
  // Mostly the same feed again: looking it up would be half of the work.
  let latest: Gathered = { feed: "", part: -1, point: null, points: [] };
  /** The place of a part that begins at `atMs`; its `point` is null where it is the first of its part. */
  const placeOf = (feed: string, atMs: number): Gathered => {
    if (latest.feed !== feed || latest.part === -1) {
      latest = found.get(feed) ?? { feed, part: -1, point: null, points: [] };
      found.set(feed, latest);
    }
    const part = partOf(atMs);
    if (latest.part !== part) latest.point = null;
    latest.part = part;
    return latest;
  };
  return {
    take(feed, summary) {
      const place = placeOf(feed, summary.fromMs);
      if (place.point !== null) {
        takeInto(place.point, summary);
        return;
      }
      place.point = { ...summary, volts: { ...summary.volts }, amps: { ...summary.amps } };
      place.points.push(place.point);
    },
    takeReading(feed, atMs, volts, amps) {
      if (atMs < fromMs || atMs > toMs) return;
      const place = placeOf(feed, atMs);
      if (place.point === null) {
        place.point = { fromMs: atMs, toMs: atMs, n: 0, volts: nothing(), amps: nothing() };
        place.points.push(place.point);
      }
      const { point } = place;
      point.toMs = atMs;
      point.n++;
      takeNumber(point.volts, volts);
      takeNumber(point.amps, amps);
    },
    feeds: () => new Map([...found.values()].map(({ feed, points }) => [feed, points])),
  };
}

interface Gathered {
  feed: string;
  /** The part that the last point is of; -1 before the first. */
  part: number;
  point: Summary | null;
  points: Summary[];
}

const nothing = (): ValueSummary => ({ n: 0, least: Number.NaN, most: Number.NaN, sum: 0 });

function takeNumber(summary: ValueSummary, value: number): void {
  if (Number.isNaN(value)) return;
  if (summary.n === 0 || value < summary.least) summary.least = value;
  if (summary.n === 0 || value > summary.most) summary.most = value;
  summary.n++;
  summary.sum += value;
}
