import type { DrawTrace } from "../../../shared/draw-input.ts";
import type { RecordedChannel, RecordedRun } from "../../../shared/record/recording.ts";
import { sayAmps, sayVolts } from "../../../shared/words/amounts.ts";
import { counted } from "../../../shared/words/counted.ts";
import { at } from "../../analysis/at.ts";
import { ampsUncertainty, voltsUncertainty } from "../../analysis/reading-uncertainty.ts";
import { univariateOf } from "../../analysis/univariate.ts";
import type { RecordedZero } from "./recorded-zero.ts";

/** The edge itself belongs to filters and to what the two clocks differ by, ms. */
const AFTER_EDGE_MS = 30;
/** Fewer readings within the record say nothing about it. */
const LEAST_READINGS = 3;
/** Two instruments of a repair bench may differ by as much, shunts and probes included (common practice, no source). */
const ALIKE_SHARE = 0.1;

/**
 * Why a record is not what the supply's readings of the same time show, in a sentence; null where it is. A recorder that hands over another
 * channel, another scale, an old record or noise is left out by this. Only feeds can be compared; a record of none is doubted.
 */
export function recordingDoubt(
  recorded: RecordedRun,
  traces: readonly DrawTrace[],
  zero: RecordedZero | null,
): string | null {
  if (zero === null) return "No reading of the supply shows the edge that triggered it.";
  let compared = 0;
  for (const channel of recorded.channels) {
    const trace = traces.find((each) => each.feed === channel.of.point);
    if (trace === undefined) continue;
    const doubt = channelDoubt(recorded, channel, trace, zero);
    if (doubt !== null) return doubt;
    compared++;
  }
  return compared === 0 ? "None of its channels is on a feed, so it cannot be checked." : null;
}

function channelDoubt(
  recorded: RecordedRun,
  { of, values, halfWidth }: RecordedChannel,
  trace: DrawTrace,
  zero: RecordedZero,
): string | null {
  const isAmps = of.reads === "amps";
  const series = isAmps ? trace.amps : trace.volts;
  const fromMs = zero.atMs + zero.expandedMs + AFTER_EDGE_MS;
  const toMs = zero.atMs + recorded.firstMs + recorded.stepMs * (values.length - 1) - zero.expandedMs;
  const readings: number[] = [];
  let [first, last] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  let highest = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < series.length; i++) {
    const ms = at(trace.atMs, i);
    if (ms > zero.atMs && ms < toMs) highest = Math.max(highest, at(series, i) || 0);
    if (ms < fromMs || ms > toMs || !Number.isFinite(at(series, i))) continue;
    readings.push(at(series, i));
    first = Math.min(first, ms);
    last = Math.max(last, ms);
  }
  if (readings.length < LEAST_READINGS)
    return `Only ${counted(readings.length, "reading")} of ${of.point} within it: too few to check it.`;
  const index = (ms: number): number => Math.round((ms - zero.atMs - recorded.firstMs) / recorded.stepMs);
  const seen = values.subarray(Math.max(0, index(first)), Math.min(values.length, index(last) + 1));
  const read = univariateOf(readings);
  const shown = univariateOf(seen);
  const own = isAmps
    ? ampsUncertainty(read.mean, trace.accuracy, trace.stepAmps ?? 0)
    : voltsUncertainty(read.mean, trace.accuracy, trace.stepVolts ?? 0);
  // The mean of few readings of a draw that pulses is off by its scatter.
  const scatter = Math.max(read.stdDev || 0, shown.stdDev || 0) / Math.sqrt(readings.length);
  const most = 3 * Math.hypot(own, halfWidth / Math.sqrt(3), scatter) + ALIKE_SHARE * Math.abs(read.mean);
  const say = isAmps ? sayAmps : sayVolts;
  if (!(Math.abs(shown.mean - read.mean) <= most))
    return `Its channel on ${of.point} has a mean of ${say(shown.mean)} where the supply read ${say(read.mean)}.`;
  let peak = Number.NEGATIVE_INFINITY;
  for (let i = Math.max(0, index(zero.atMs - zero.expandedMs)); i < values.length; i++)
    peak = Math.max(peak, at(values, i));
  return peak + halfWidth + 3 * own + ALIKE_SHARE * Math.abs(highest) < highest
    ? `Its channel on ${of.point} shows at most ${say(peak)} where the supply read ${say(highest)}.`
    : null;
}
