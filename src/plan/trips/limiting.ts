import type { PlanFeed } from "../../../shared/plan.ts";
import { sayAmps, sayMs, sayVolts } from "../../../shared/words/amounts.ts";
import { allowedHoldMs } from "../compile/hold-budget.ts";
import { summedLimitingMs } from "../machine/feed-track.ts";
import type { LiveFeed } from "../machine/machine-state.ts";
import { type Finding, firstFinding, isJudged, nominalStage, type TripCheck } from "./finding.ts";

/** Reached nominal and fell back into the limit this soon: the start demand, not a fault that came later. */
const START_MS = 3000;
/** Around a stated lock-out, volts: the saw-tooth of a start that loops is averaged by the meter. */
const LOCK_OUT_MARGIN = 0.75;

/**
 * The limit held longer, summed over any second, than the input's charge explains. At nominal it is called a start that
 * loops where the feed had reached 90 %, or its volts turn up and down, or stand at the board's stated lock-out: the
 * touch was clean, so no plain resistor is there.
 */
export const limiting: TripCheck = (view) =>
  firstFinding(view, (live, feed) => {
    const stage = view.state.ledger.stage === "hold-low" ? "hold-low" : nominalStage(view);
    if (!isJudged(live) || stage === null) return null;
    const allowedMs = stage === "hold-low" ? allowedHoldMs(feed) : feed.allowedLimitingMs;
    const summedMs = summedLimitingMs(feed, live.track, view.nowMs);
    return summedMs > allowedMs ? limitingFinding(live, feed, { stage, nowMs: view.nowMs, summedMs, allowedMs }) : null;
  });

/** The finding for a feed that stays in its limit, told as what it looks like. */
export function limitingFinding(
  live: LiveFeed,
  feed: PlanFeed,
  seen: { stage: "hold-low" | "rise" | "watch" | "margin"; nowMs: number; summedMs: number; allowedMs: number },
): Finding {
  const { last } = live.track;
  const volts = last?.volts ?? 0;
  const low = seen.stage !== "hold-low" && volts >= feed.nominalVolts / 6;
  const loops =
    seen.stage !== "hold-low" && (live.track.turns >= 2 || (low && looksLikeStart(live, feed, seen.nowMs, volts)));
  const inferred =
    last?.inferred === true ? " (at the limit, judging by volts and amps: the supply does not report it)" : "";
  const howLong =
    seen.summedMs > 0
      ? `was at its limit of ${sayAmps(live.setting.limitAmps)} for ${sayMs(seen.summedMs)} of the last second (${sayMs(seen.allowedMs)} is allowed) and`
      : `is at its limit of ${sayAmps(live.setting.limitAmps)} when it should have settled, and`;
  const held = `${live.feed} ${howLong} reads ${sayVolts(volts)}${inferred}`;
  if (loops) {
    return {
      rule: "start-loop",
      feed: live.feed,
      board: true,
      higherLimit: true,
      because: `${held}; the start cannot complete: the limit is too low or the board is overloaded`,
    };
  }
  const reading =
    seen.stage === "hold-low"
      ? "nothing should draw that much below lock-out"
      : low
        ? "the touch was clean: either an overload that appears only at a higher voltage, or a limit too low for the start"
        : "an overload that appears only at a higher voltage";
  return { rule: "limiting", feed: live.feed, board: true, higherLimit: low, because: `${held}; ${reading}` };
}

function looksLikeStart(live: LiveFeed, feed: PlanFeed, nowMs: number, volts: number): boolean {
  if (live.track.reachedMs !== null) return nowMs - (live.onMs ?? live.askedMs) < START_MS;
  const [rising, falling] = feed.lockOutVolts ?? [Number.NaN, Number.NaN];
  return volts >= falling - LOCK_OUT_MARGIN && volts <= rising + LOCK_OUT_MARGIN;
}
