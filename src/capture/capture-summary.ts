import { ampsOf, type FeedReading, voltsOf } from "../../shared/reading.ts";

/** The summary of some values; `least` and `most` are NaN where `n`, how many of them are numbers, is 0. */
export interface ValueSummary {
  n: number;
  least: number;
  most: number;
  sum: number;
}

/** The summary of some readings of one feed, from the first (`fromMs`) to the last (`toMs`). */
export interface Summary {
  fromMs: number;
  toMs: number;
  n: number;
  volts: ValueSummary;
  amps: ValueSummary;
}

const valueSummary = (value: number | undefined): ValueSummary =>
  value === undefined
    ? { n: 0, least: Number.NaN, most: Number.NaN, sum: 0 }
    : { n: 1, least: value, most: value, sum: value };

/** One reading as a summary. */
export const summaryOf = (reading: FeedReading): Summary => ({
  fromMs: reading.atMs,
  toMs: reading.atMs,
  n: 1,
  volts: valueSummary(voltsOf(reading)),
  amps: valueSummary(ampsOf(reading)),
});

/** Takes a later summary of the same feed into an earlier one, which is changed. */
export function takeInto(earlier: Summary, later: Summary): void {
  earlier.toMs = later.toMs;
  earlier.n += later.n;
  takeValues(earlier.volts, later.volts);
  takeValues(earlier.amps, later.amps);
}

function takeValues(earlier: ValueSummary, later: ValueSummary): void {
  if (later.n === 0) return;
  if (earlier.n === 0 || later.least < earlier.least) earlier.least = later.least;
  if (earlier.n === 0 || later.most > earlier.most) earlier.most = later.most;
  earlier.n += later.n;
  earlier.sum += later.sum;
}
