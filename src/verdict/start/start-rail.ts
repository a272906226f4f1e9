import type { BoardFile, BoardRail } from "../../../shared/files/board-file.ts";
import type { StartRail } from "../../../shared/record/start-order.ts";
import { quantileOf } from "../../analysis/quantile.ts";
import { risingCrossing } from "../../analysis/step/crossing.ts";
import { dipsUnder } from "../../analysis/step/dips.ts";
import { oscillationOf } from "../../analysis/step/oscillation.ts";
import { type StepTimes, stepTimesOf } from "../../analysis/step/step-times.ts";
import { voltsLimits } from "../diagnosis/reading-state.ts";

/** The values that a column shows of one rail or signal, and those used only for judging. */
export interface SeenRail {
  rail: StartRail;
  /** A clock that runs: from when on without a pause. */
  stableMs: number | null;
  /** True where it was up before the trace began. */
  wasUp: boolean;
  /** True where it fell under its tolerance and stayed there. */
  endsLow: boolean;
  step: StepTimes | null;
}

/** A rail counts as up from this share of its volts on, and as off under the other. */
const UP_SHARE = 0.9;
const OFF_SHARE = 0.1;
const SIGMAS = 4;
const MOST_REACH_SHARE = 0.04;

const NOTHING: StartRail = {
  beginsMs: null,
  riseMs: null,
  settlesMs: null,
  overshoot: null,
  upAtMs: null,
  lowVolts: null,
  highVolts: null,
  dips: [],
  starts: 0,
  noiseVolts: null,
  uncertainty: { beginsMs: null, riseMs: null, settlesMs: null, overshoot: null, upAtMs: null },
};

/** The start of one rail or signal from its column; `entry` is the board file's, `isClock` one that may go to and fro. */
export function startRail(
  atMs: Float64Array,
  volts: Float64Array,
  { entry, isClock }: { entry: BoardRail; isClock: boolean },
): SeenRail {
  const oscillation = isClock ? oscillationOf(atMs, volts) : null;
  if (oscillation !== null) {
    const { beginsMs, stableMs, periodMs } = oscillation;
    const rail = { ...NOTHING, beginsMs, starts: 1, uncertainty: { ...NOTHING.uncertainty, beginsMs: periodMs } };
    return { rail, stableMs, wasUp: false, endsLow: false, step: null };
  }
  const step = stepTimesOf(atMs, volts);
  const first = volts.find((each) => Number.isFinite(each)) ?? Number.NaN;
  const wasUp = first >= UP_SHARE * entry.volts && entry.volts > 0;
  if (step === null || step.high < OFF_SHARE * entry.volts) {
    const level = quantileOf(volts, 1);
    const highVolts = Number.isFinite(level) ? level : null;
    return { rail: { ...NOTHING, highVolts }, stableMs: null, wasUp, endsLow: false, step: null };
  }
  return { ...seen(atMs, volts, entry, step), wasUp };
}

function seen(atMs: Float64Array, volts: Float64Array, entry: BoardRail, step: StepTimes): Omit<SeenRail, "wasUp"> {
  const { low, high, noise, begins, p10, p90 } = step;
  const reach = Math.min(SIGMAS * noise, MOST_REACH_SHARE * (high - low));
  const up = risingCrossing(atMs, volts, { level: UP_SHARE * entry.volts, reach, noise });
  const { dips, endsLow } = dipsUnder(atMs, volts, {
    floor: Math.min(voltsLimits(entry).low, low + UP_SHARE * (high - low)),
    reach,
    from: Math.max(up?.index ?? 0, p90.index),
  });
  const rail: StartRail = {
    beginsMs: begins.atMs,
    riseMs: p90.atMs - p10.atMs,
    settlesMs: step.settlesMs,
    overshoot: step.overshoot,
    upAtMs: up?.atMs ?? null,
    lowVolts: low,
    highVolts: high,
    dips: dips.map(({ lowest, ...when }) => ({ ...when, volts: lowest })),
    starts: startsOf(volts, low, high, reach),
    noiseVolts: noise,
    uncertainty: {
      beginsMs: 2 * begins.standardMs,
      riseMs: 2 * Math.hypot(p10.standardMs, p90.standardMs),
      settlesMs: step.settlesStandardMs === null ? null : 2 * step.settlesStandardMs,
      overshoot: 2 * step.overshootStandard,
      upAtMs: up === null ? null : 2 * up.standardMs,
    },
  };
  return { rail, stableMs: null, endsLow, step };
}

/** The number of times it came up from its low state to its high one. */
function startsOf(volts: Float64Array, low: number, high: number, reach: number): number {
  const [off, up] = [low + OFF_SHARE * (high - low) - reach, low + UP_SHARE * (high - low)];
  let isOff = false;
  let starts = 0;
  for (const each of volts) {
    if (each <= off) isOff = true;
    else if (isOff && each >= up) {
      isOff = false;
      starts++;
    }
  }
  return starts;
}

/** The board file's entry of a column; a feed is a rail that needs nothing. */
export function entryOf(board: BoardFile, name: string): BoardRail {
  const rail = board.rails[name];
  if (rail !== undefined) return rail;
  const feed = board.feeds[name];
  return {
    volts: feed?.nominalVolts ?? 0,
    needs: [],
    ...(feed?.tolerance === undefined ? {} : { tolerance: feed.tolerance }),
  };
}
