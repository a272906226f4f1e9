import { limitedMsOf } from "../live-feed.ts";
import { type TripCheck, volts } from "./trip-rule.ts";

/** Limiting summed over the last second beyond what charging the input capacitors can take. */
export const limiting: TripCheck = ({ feed, live, stage }) => {
  if (stage === "touch") return undefined;
  const limitedMs = limitedMsOf(live);
  if (limitedMs <= feed.allowedLimitingMs) return undefined;
  return {
    rule: "limiting",
    board: true,
    because: `${live.feed} was limited to ${live.limitAmps} A for ${limitedMs.toFixed(0)} ms of the last second (${feed.allowedLimitingMs.toFixed(0)} ms allowed), at ${volts(live.last?.volts ?? 0)} of ${volts(live.setVolts)}`,
  };
};
