import { type DrawInput, type DrawTrace, UNNAMED_FEED } from "../../shared/draw-input.ts";
import type { BoardFeed, BoardFile } from "../../shared/files/board-file.ts";
import { at } from "../analysis/at.ts";
import { medianOf, quantileOf } from "../analysis/quantile.ts";
import { readIntervalOf } from "../analysis/read-interval.ts";
import { readStepOf } from "../analysis/read-step.ts";
import type { VerdictLimits } from "./verdict-limits.ts";

/** A trace with what is known or can be found of its surroundings. */
export interface FeedView {
  trace: DrawTrace;
  feed: string;
  boardFeed: BoardFeed | null;
  /** The board's, else what the trace was set to, else what it stayed at; null where it never got to a usual voltage. */
  nominalVolts: number | null;
  /** The limit of each reading, NaN not known. */
  limitAmps: Float64Array;
  stepAmps: number;
  stepVolts: number;
  intervalMs: number | null;
  /** Less than this is no current. */
  quietAmps: number;
  /** The values that the verdict decides by. */
  limits: VerdictLimits;
}

/** Read-back steps of bench supplies, amps and volts (trade practice: 1 to 10 mA). */
const STEP_SPAN = { least: 2e-4, most: 0.01 };
/** Supply voltages that boards are made for; a level within a tenth of one is taken to be it. */
const USUAL_VOLTS = [3.3, 5, 12, 19, 24, 48];

export function feedViewOf(
  trace: DrawTrace,
  { board, limitAmps }: Pick<DrawInput, "board" | "limitAmps">,
  verdictLimits: VerdictLimits,
): FeedView {
  const n = trace.atMs.length;
  const stepAmps = trace.stepAmps ?? readStepOf(trace.amps, STEP_SPAN);
  const stepVolts = trace.stepVolts ?? readStepOf(trace.volts, STEP_SPAN);
  const top = topVolts(trace.volts);
  const boardFeed = boardFeedOf(trace, board, top);
  const limits = new Float64Array(n);
  const flat = trace.limitAmps === null && limitAmps === null ? flatTopOf(trace, top) : null;
  for (let i = 0; i < n; i++) {
    const said = trace.limitAmps === null ? Number.NaN : at(trace.limitAmps, i);
    limits[i] = Number.isFinite(said) ? said : (limitAmps ?? flat ?? Number.NaN);
  }
  return {
    trace,
    feed: trace.feed,
    boardFeed,
    nominalVolts: boardFeed?.nominalVolts ?? nominalFrom(trace, top),
    limitAmps: limits,
    stepAmps,
    stepVolts,
    intervalMs: readIntervalOf(trace.atMs),
    quietAmps: Math.max(3 * stepAmps, 0.003),
    limits: verdictLimits,
  };
}

/** The highest voltage that three readings agree on. */
function topVolts(volts: Float64Array): number {
  let top = Number.NEGATIVE_INFINITY;
  if (volts.length < 3) return quantileOf(volts, 1);
  for (let i = 2; i < volts.length; i++) {
    const [a, b, c] = [at(volts, i - 2), at(volts, i - 1), at(volts, i)];
    const middle = Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
    if (middle > top) top = middle;
  }
  return top;
}

function boardFeedOf(trace: DrawTrace, board: BoardFile | null, top: number): BoardFeed | null {
  if (board === null) return null;
  const named = board.feeds[trace.feed];
  if (named !== undefined) return named;
  const feeds = Object.values(board.feeds);
  if (trace.feed !== UNNAMED_FEED) return null;
  if (feeds.length === 1) return feeds[0] ?? null;
  const reached = feeds.filter(({ nominalVolts }) => Math.abs(top - nominalVolts) < 0.12 * nominalVolts);
  const alike = feeds.filter(({ nominalVolts }) => nominalVolts === feeds[0]?.nominalVolts);
  return reached[0] ?? (alike.length === feeds.length ? (feeds[0] ?? null) : null);
}

function nominalFrom(trace: DrawTrace, top: number): number | null {
  if (trace.setVolts !== null) {
    let most = 0;
    for (const set of trace.setVolts) if (set > most) most = set;
    if (most > 3.2) return most;
  }
  const touched = trace.volts.some((volts) => volts > 0.7 && volts < 1.1);
  if (touched && top > 2.8 && top < 3.1) return null;
  return USUAL_VOLTS.find((usual) => Math.abs(top - usual) <= 0.1 * usual) ?? null;
}

/**
 * A limit nobody stated shows as a flat top: at least five readings within 1 % of the highest current (or one that
 * stays there) while the volts are under their top. Null where there is none.
 */
function flatTopOf(trace: DrawTrace, topVoltage: number): number | null {
  let most = 0;
  for (let i = 0; i < trace.amps.length; i++) if (at(trace.amps, i) > most) most = at(trace.amps, i);
  if (most <= 0.02) return null;
  const near: number[] = [];
  let low = 0;
  for (let i = 0; i < trace.amps.length; i++) {
    if (at(trace.amps, i) < 0.99 * most) continue;
    near.push(at(trace.amps, i));
    if (at(trace.volts, i) < 0.97 * topVoltage || topVoltage < 1.5) low++;
  }
  return near.length >= 5 && low >= 3 ? medianOf(near) : null;
}
