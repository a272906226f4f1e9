import type { TripCheck } from "./trip-rule.ts";

/** More power than the plan allows, in two readings running: volts and amps of one reading may not be of one instant. */
export const overPower: TripCheck = ({ plan, live }) => {
  const [before, last] = live.look.slice(-2);
  if (before === undefined || last === undefined) return undefined;
  const watts = Math.min(before.volts * before.amps, last.volts * last.amps);
  if (watts <= plan.trips.overPowerWatts) return undefined;
  return {
    rule: "over-power",
    board: true,
    because: `${live.feed} draws ${watts.toFixed(1)} W, above the ${plan.trips.overPowerWatts.toFixed(1)} W the plan allows`,
  };
};
