import { limitedMsOf } from "../live-feed.ts";
import { type TripCheck, volts } from "./trip-rule.ts";

/**
 * A start that does not complete: 90 % was reached once and the volts fell under 80 % a second time, or the limit holds
 * them between 2 V and 90 % of nominal for longer than charging the input can take. Below the lock-out a converter draws
 * nothing, and the touch found no resistive short, so either the limit is under the start demand or something overloads
 * behind a converter: the readings cannot tell which.
 */
export const startLoop: TripCheck = ({ feed, live, stage }) => {
  if (stage !== "rise" && stage !== "watch") return undefined;
  const read = live.last?.volts ?? 0;
  if (live.falls >= 2) {
    return {
      rule: "start-loop",
      board: true,
      because: `${live.feed} reached ${volts(0.9 * feed.nominalVolts)} and then fell under ${volts(0.8 * feed.nominalVolts)} ${live.falls} times (lowest ${volts(live.lowestAfterRise ?? read)}) at a limit of ${live.limitAmps} A: the start loops`,
    };
  }
  const limitedMs = limitedMsOf(live);
  const lately = live.look.map((each) => each.volts);
  const highest = Math.max(...lately);
  if (limitedMs > feed.allowedLimitingMs && highest >= 2 && Math.min(...lately) < 0.9 * feed.nominalVolts) {
    return {
      rule: "start-loop",
      board: true,
      because: `${live.feed} was limited to ${live.limitAmps} A for ${limitedMs.toFixed(0)} ms of the last second (${feed.allowedLimitingMs.toFixed(0)} ms allowed) with ${volts(Math.min(...lately))} to ${volts(highest)}: the start does not complete`,
    };
  }
  return undefined;
};
