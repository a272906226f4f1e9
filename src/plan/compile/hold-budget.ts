import type { PlanFeed } from "../../../shared/plan.ts";
import { allowedLimitingMs } from "../../analysis/allowed-limiting.ts";

/** Longest summed limiting in the hold below lock-out, milliseconds, and never longer than the hold itself. */
export const allowedHoldMs = (feed: PlanFeed): number =>
  feed.holdLow === null
    ? 0
    : allowedLimitingMs(
        {
          farads: feed.inputFaradsMax,
          volts: feed.holdLow.volts,
          limitAmps: feed.holdLow.limitAmps,
          supplyRiseMs: feed.supplyRiseMs,
          readIntervalMs: feed.readIntervalMs,
        },
        feed.holdLow.maxMs,
      );

/**
 * Most charge (coulombs) and energy (joules) a feed may take before its stage is over: three times the charge of its
 * capacitors, and the limit for half a hold or a whole rise. C·V² is what charging costs with its losses.
 */
export function stageBudget(
  feed: PlanFeed,
  stage: "hold-low" | "rise",
  limitAmps: number,
): { coulombs: number; joules: number } {
  const setting = stage === "hold-low" ? (feed.holdLow ?? feed.touch) : feed.nominal;
  const seconds = stage === "hold-low" ? setting.maxMs / 2000 : (setting.maxMs + feed.allowedLimitingMs) / 1000;
  const coulombs = 3 * feed.inputFaradsMax * setting.volts + limitAmps * seconds;
  return { coulombs, joules: coulombs * setting.volts };
}
