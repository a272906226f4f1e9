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
 * Set-points, limits and over-voltage levels of each stage. Feeds of 3.5 V and more are held at a quarter of nominal, 12 V at
 * 3 V, and under the lock-out that the board file states; lower ones not at all. Under remote sense the protection sees the drop of the leads as well, so the
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
  const lowVolts = holdLowVolts(limits);
  const lowAmps = cap(holdLowAmps(limits, lowVolts ?? 0));
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

/** Converters that the board file says work down to this are locked out at this share of it. */
const UNDER_LOCK_OUT = 0.8;

function holdLowVolts({ nominalVolts, lockOutVolts }: FeedLimits): number | null {
  if (nominalVolts < 3.5) return null;
  const quarter = nominalVolts / 4;
  return lockOutVolts === null ? quarter : Math.min(quarter, UNDER_LOCK_OUT * lockOutVolts[1]);
}

/** As many watts as a 12 V feed gets in its hold, and enough to fill the largest input capacitance in half of it. */
function holdLowAmps({ kind, nominalVolts, inputFaradsMax }: FeedLimits, lowVolts: number): number {
  const byWatts = kind.holdLowAmps * Math.min(1, kind.nominalVolts / nominalVolts);
  const toFill = (inputFaradsMax * lowVolts) / (HOLD_LOW_MS / 2000);
  return Math.min(kind.holdLowAmps, Math.max(byWatts, toFill));
}
