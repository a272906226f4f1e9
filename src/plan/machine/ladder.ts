import type { Plan } from "../../../shared/plan.ts";
import type { Ledger } from "./machine-state.ts";
import { plannedFeed } from "./plan-feeds.ts";

export interface Raise {
  feed: string;
  fromAmps: number;
  toAmps: number;
  /** False where the limit may be named but not raised in this run. */
  mayAsk: boolean;
}

/**
 * The next limit of a feed's ladder; null where there is none left. It may be asked for only while raises remain and the
 * feed's cold ohms were read: never raise a limit into a board that was not measured. Everything before is clean by
 * construction, since the rise comes after every touch and hold.
 */
export function nextRaise(plan: Plan, ledger: Ledger, feed: string): Raise | null {
  const planned = plannedFeed(plan, feed);
  const fromAmps = ledger.limits[feed];
  if (planned === undefined || fromAmps === undefined) return null;
  const toAmps = planned.ladderAmps.find((amps) => amps > fromAmps * 1.001 && amps <= planned.limitAmps);
  if (toAmps === undefined) return null;
  const inLadder = ledger.stage === "rise" || ledger.stage === "watch";
  return {
    feed,
    fromAmps,
    toAmps,
    mayAsk: inLadder && ledger.raises < plan.ladder.raises && planned.coldOhms !== null,
  };
}
