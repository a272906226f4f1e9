import { chargeBudget } from "./charge-budget.ts";
import { collapse } from "./collapse.ts";
import { creeping } from "./creeping.ts";
import { energyBudget } from "./energy-budget.ts";
import { limiting } from "./limiting.ts";
import { overPower } from "./over-power.ts";
import { overVoltage } from "./over-voltage.ts";
import { startLoop } from "./start-loop.ts";
import type { TripCheck } from "./trip-rule.ts";

/** The rules asked of each reading of an energised feed, the first that holds is why it was cut. */
export const FEED_TRIPS: readonly TripCheck[] = [overVoltage, startLoop, limiting, collapse, energyBudget, chargeBudget, overPower, creeping];
