import { type TripCheck, volts } from "./trip-rule.ts";

/** How long the volts may stay low without the supply limiting: the supply's own rise, six readings, 250 ms at least. */
const graceMs = (riseMs: number, readIntervalMs: number): number => Math.max(250, 2 * riseMs, 6 * readIntervalMs);

/** Volts under 90 % of the set-point in three readings running although nothing limits: an output that does not come up or gives way. */
export const collapse: TripCheck = ({ feed, live, stage, nowMs }) => {
  if (stage === "touch") return undefined;
  const since = live.onAtMs ?? live.askedOnAtMs;
  if (nowMs - since < graceMs(feed.supplyRiseMs, feed.readIntervalMs)) return undefined;
  const three = live.look.slice(-3);
  if (three.length < 3 || three.some((each) => each.limiting || each.volts >= 0.9 * live.setVolts)) return undefined;
  return {
    rule: "collapse",
    board: true,
    because: `${live.feed} stays at ${volts(three.at(-1)?.volts ?? 0)} of ${volts(live.setVolts)} although the supply does not limit`,
  };
};
