import type { Span } from "./plot-span.ts";

type Values = readonly (number | null)[];

/** One quantity over time. `least` and `most` are there where a point stands for several readings. */
export interface PlotSeries {
  name: string;
  seconds: readonly number[];
  mean: Values;
  least?: Values;
  most?: Values;
  /** Which of the looks it is drawn in: each has a colour and a dash of its own. */
  look: number;
}

/** A bound and a set-point that were in force for a while; `untilSeconds` null: they are still. */
export interface PlotBound {
  fromSeconds: number;
  untilSeconds: number | null;
  most: number | null;
  set: number | null;
}

/** The lines that share one vertical axis. */
export interface PlotPane {
  id: string;
  unit: string;
  /** The axis reaches at least so far. */
  least: number;
  series: readonly PlotSeries[];
  bounds: readonly PlotBound[];
  /** The band in which good boards draw. */
  band: { low: number; high: number } | null;
}

/** Something at a moment: where a stage begins, where the output was cut, a note. */
export interface PlotMark {
  seconds: number;
  name: string;
  kind: "stage" | "cut" | "note";
}

/** The place of the last point at or before a moment; -1 before the first. */
export function placeAt(seconds: readonly number[], at: number): number {
  let [low, high] = [0, seconds.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((seconds[middle] ?? 0) <= at) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** The last value at a moment; null where nothing was. */
export const valueAt = ({ seconds, mean }: PlotSeries, at: number): number | null => mean[placeAt(seconds, at)] ?? null;

/** The part of a series that a window shows, with one point beyond each end so that the line goes on to the edge. */
export const shownPart = ({ seconds }: PlotSeries, { from, to }: Span): [first: number, end: number] => [
  Math.max(0, placeAt(seconds, from)),
  Math.min(seconds.length, placeAt(seconds, to) + 2),
];

/**
 * The least and the greatest that a pane shows. The whole has zero and every bound in it; a narrower window is fitted to what
 * is read in it, so that a ripple can be seen.
 */
export function reachOf(pane: PlotPane, span: Span, isWhole: boolean): { low: number; high: number } {
  let [low, high] = isWhole ? [0, pane.least] : [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  const take = (value: number | null | undefined): void => {
    if (value == null) return;
    if (value < low) low = value;
    if (value > high) high = value;
  };
  for (const series of pane.series) {
    const [first, end] = shownPart(series, span);
    for (let at = first; at < end; at++) {
      take(series.least?.[at] ?? series.mean[at]);
      take(series.most?.[at] ?? series.mean[at]);
    }
  }
  if (isWhole) for (const { most } of pane.bounds) take(most);
  if (low > high) [low, high] = [0, pane.least];
  if (isWhole) return { low, high: high + 0.12 * (high - low) };
  const room = Math.max(0.1 * (high - low), pane.least / 200);
  return { low: low - room, high: high + room };
}
