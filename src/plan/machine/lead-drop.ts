import type { PlanFeed } from "../../../shared/plan.ts";

/** Lead resistance that is inside a reading of this supply; 0 where it is not known or the reading is taken behind it. */
export const leadOhmsIn = (feed: PlanFeed): number =>
  feed.sense === "remote" && feed.readsAtSense === true ? 0 : (feed.leadOhms ?? 0);

/** Whether volts at the board can be told from a reading. */
export const leadsKnown = (feed: PlanFeed): boolean =>
  feed.leadOhms !== null || (feed.sense === "remote" && feed.readsAtSense === true);

/** Volts behind the leads, where they are known; else those read. */
export const boardVoltsOf = (feed: PlanFeed, { volts, amps }: { volts: number; amps: number }): number =>
  volts - amps * leadOhmsIn(feed);
