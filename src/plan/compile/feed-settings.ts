import type { StageSetting } from "../../../shared/plan.ts";
import type { FeedLimits } from "./feed-limits.ts";

export interface StageSettings {
  touch: StageSetting;
  holdLow: StageSetting | null;
  nominal: StageSetting;
  twoLimitAmps: [number, number];
}

const TOUCH_OVER_VOLTS = 1.5;
const LEAST_TOUCH_MS = 300;
/** No look below 1 V lasts longer, however slow the meter. */
export const MOST_TOUCH_MS = 1500;
const HOLD_LOW_MS = 500;

/**
 * Set-points, limits and over-voltage levels of each stage. Feeds of 9 V and more are held at 3 V, of 3.5–9 V at a
 * quarter of nominal, lower ones not at all. Under remote sense the protection sees the drop of the leads as well, so the
 * level is raised by limit · leads. `readIntervalMs` sets how long the first look may take: four intervals, at least 300
 * ms, at most 1.5 s.
 */
export function stageSettings(
  limits: FeedLimits,
  wiring: { remoteSense: boolean; leadOhms: number | null; readIntervalMs: number; attemptMs: number },
): StageSettings {
  const dropAt = (limitAmps: number): number => (wiring.remoteSense ? limitAmps * (wiring.leadOhms ?? 0) : 0);
  const cap = (amps: number): number => Math.min(amps, limits.limitAmps);
  const touchAmps = cap(limits.kind.touch.limitAmps);
  const touchVolts = Math.min(limits.kind.touch.volts, limits.nominalVolts);
  const touch: StageSetting = {
    volts: touchVolts,
    limitAmps: touchAmps,
    overVolts: Math.min(TOUCH_OVER_VOLTS, limits.maxVolts) + dropAt(touchAmps),
    maxMs: Math.min(MOST_TOUCH_MS, Math.max(LEAST_TOUCH_MS, 4 * wiring.readIntervalMs)),
  };
  const lowVolts = limits.nominalVolts >= 9 ? 3 : limits.nominalVolts >= 3.5 ? limits.nominalVolts / 4 : null;
  const lowAmps = cap(limits.kind.holdLowAmps);
  const holdLow =
    lowVolts === null
      ? null
      : { volts: lowVolts, limitAmps: lowAmps, overVolts: lowVolts * 1.15 + dropAt(lowAmps), maxMs: HOLD_LOW_MS };
  const nominal: StageSetting = {
    volts: limits.nominalVolts,
    limitAmps: limits.firstAmps,
    overVolts: limits.maxVolts + dropAt(limits.firstAmps),
    maxMs: wiring.attemptMs,
  };
  const high = cap(0.4);
  return { touch, holdLow, nominal, twoLimitAmps: [Math.min(0.2, high / 2), high] };
}
