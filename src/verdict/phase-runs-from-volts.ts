import { at } from "../analysis/at.ts";
import { levelStretchesOf } from "../analysis/plateaus.ts";
import { quantileOf } from "../analysis/quantile.ts";
import type { FeedView } from "./feed-view.ts";
import type { PhaseRun } from "./phase-runs.ts";

type Code = "off" | "touch" | "hold-low" | "nominal";

/** So long without current and under nominal parts two attempts. */
const PAUSE_MS = 1000;

/**
 * The phases of a trace that names none. A steady stretch near 0.9 V before the nominal voltage was ever reached is a
 * touch, one near 3 V a hold-low, the rest belongs to the rise and the watch. A trace that never came near a usual
 * voltage (a short at the limit) is a touch, whatever the supply was set to: its resistance is read the same way.
 */
export function phaseRunsFromVolts(view: FeedView): PhaseRun[] {
  const codes = codesOf(view);
  const runs: PhaseRun[] = [];
  let i = 0;
  while (i < codes.length) {
    const code = codes[i];
    let to = i + 1;
    while (to < codes.length && codes[to] === code) to++;
    if (code === "touch") runs.push(...touchRuns(view, i, to));
    else if (code !== undefined && code !== "off") runs.push(runOf(view, code, i, to));
    i = to;
  }
  return runs;
}

function codesOf(view: FeedView): Code[] {
  const { volts, amps, atMs } = view.trace;
  const nominal = view.nominalVolts;
  const codes: Code[] = [];
  let reached = false;
  // Never above 1.5 V: then a few millivolts are no beginning of a rise but all there was.
  const onlyLow = quantileOf(volts, 1) <= 1.5;
  for (let i = 0; i < volts.length; i++) {
    const level = at(volts, i);
    const on = level >= 0.05 || Math.abs(at(amps, i)) >= view.quietAmps;
    if (nominal !== null && level >= 0.8 * nominal) reached = true;
    if (!on) codes.push("off");
    else if (reached) codes.push("nominal");
    else if (level <= 1.5 && (onlyLow || nominal === null || level >= 0.3)) codes.push("touch");
    else if (level >= 2.6 && level <= 3.4 && (nominal === null || nominal > 4.5)) codes.push("hold-low");
    else codes.push("nominal");
  }
  passThrough(view, codes);
  pauses(view, codes, atMs);
  return codes;
}

/** A stretch at a low level that is short or moves was passed on the way up: it belongs to what follows. */
function passThrough(view: FeedView, codes: Code[]): void {
  const { volts, atMs } = view.trace;
  for (let to = codes.length; to > 0; ) {
    const code = codes[to - 1];
    let from = to - 1;
    while (from > 0 && codes[from - 1] === code) from--;
    if ((code === "touch" || code === "hold-low") && codes[to] === "nominal") {
      const stretch = volts.subarray(from, to);
      const [low, high] = [quantileOf(stretch, 0.1), quantileOf(stretch, 0.9)];
      const lengthMs = at(atMs, to - 1) - at(atMs, from);
      if (to - from < 3 || lengthMs < 30 || high - low > 0.15 * high) codes.fill("nominal", from, to);
    }
    to = from;
  }
}

/** No current and no nominal voltage for a second: the output was off between two attempts. */
function pauses(view: FeedView, codes: Code[], atMs: Float64Array): void {
  const { volts, amps } = view.trace;
  const under = 0.9 * (view.nominalVolts ?? 0);
  let from = -1;
  for (let i = 0; i <= codes.length; i++) {
    const idle = codes[i] === "nominal" && at(amps, i) < view.quietAmps && at(volts, i) < under;
    if (idle && from < 0) from = i;
    if (!idle && from >= 0) {
      if (at(atMs, i - 1) - at(atMs, from) >= PAUSE_MS) codes.fill("off", from, i);
      from = -1;
    }
  }
}

/** A second limit during a touch shows as a step of the current: each level is a look of its own. An inrush is no level. */
function touchRuns(view: FeedView, from: number, to: number): PhaseRun[] {
  const { atMs, amps } = view.trace;
  const step = Math.max(4 * view.stepAmps, 0.05);
  const levels = levelStretchesOf(atMs.subarray(from, to), amps.subarray(from, to), step);
  const looks = levels.filter((level) => level.to - level.from >= 3);
  if (looks.filter(({ level }) => level > view.quietAmps).length < 2) return [runOf(view, "touch", from, to)];
  return looks.map((level) => runOf(view, "touch", from + level.from, from + level.to));
}

function runOf(view: FeedView, phase: Exclude<Code, "off">, from: number, to: number): PhaseRun {
  const limit = at(view.limitAmps, from);
  const level = quantileOf(view.trace.volts.subarray(from, to), 0.9);
  const usual = phase === "touch" ? level >= 0.75 && level <= 1.1 : level >= 2.85;
  return {
    phase,
    from,
    to,
    setVolts: phase === "nominal" ? view.nominalVolts : usual ? level : null,
    limitAmps: Number.isFinite(limit) ? limit : null,
  };
}
