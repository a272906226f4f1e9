import type { PlanEvent, PlanFeed, StageSetting } from "../../../shared/plan.ts";
import { sayAmps, sayVolts } from "../../../shared/words/amounts.ts";
import { stepAmpsOf, stepVoltsOf } from "./feed-track.ts";

/**
 * The difference between a setting and its read-back, in words; null where they agree. Volts and limit may differ by one
 * read-back step or 0.5 %, the over-voltage level by 0.11 V or 2 % (protections have coarse steps). A supply that has a
 * protection must read its level back.
 */
export function echoDiffers(
  feed: PlanFeed,
  setting: StageSetting,
  echo: Extract<PlanEvent, { event: "configured" }>,
): string | null {
  const off = (asked: number, got: number, least: number, share: number): boolean =>
    !(Math.abs(got - asked) <= Math.max(least, share * asked) * 1.0001);
  if (off(setting.volts, echo.setVolts, stepVoltsOf(feed), 0.005))
    return `${sayVolts(setting.volts)} was set, but ${sayVolts(echo.setVolts)} was read back`;
  if (off(setting.limitAmps, echo.limitAmps, stepAmpsOf(feed), 0.005)) {
    return `a limit of ${sayAmps(setting.limitAmps)} was set, but ${sayAmps(echo.limitAmps)} was read back`;
  }
  if (!feed.hasOverVoltage) return null;
  if (echo.overVolts === null)
    return `an over-voltage level of ${sayVolts(setting.overVolts)} was set, but none was read back`;
  return off(setting.overVolts, echo.overVolts, 0.11, 0.02)
    ? `an over-voltage level of ${sayVolts(setting.overVolts)} was set, but ${sayVolts(echo.overVolts)} was read back`
    : null;
}
