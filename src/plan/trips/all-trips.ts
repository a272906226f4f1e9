import { backFeed } from "./back-feed.ts";
import { charge } from "./charge.ts";
import { collapse } from "./collapse.ts";
import { creeping } from "./creeping.ts";
import { energy } from "./energy.ts";
import type { TripCheck } from "./finding.ts";
import { injection } from "./injection.ts";
import { limiting } from "./limiting.ts";
import { onTime } from "./on-time.ts";
import { overPower } from "./over-power.ts";
import { overVoltage } from "./over-voltage.ts";
import { stale } from "./stale.ts";
import { startLoop } from "./start-loop.ts";

/** Every rule that judges readings and time, the most telling first: only the first finding is kept. */
export const ALL_TRIPS: readonly TripCheck[] = [
  overVoltage,
  backFeed,
  startLoop,
  limiting,
  collapse,
  overPower,
  energy,
  charge,
  injection,
  creeping,
  stale,
  onTime,
];
