import { type TripCheck, volts } from "./trip-rule.ts";

/** The volts read above the level the stage allows. The supply's own protection acts first; this cleans up. */
export const overVoltage: TripCheck = ({ live }) => {
  const read = live.last?.volts;
  if (read === undefined || read <= live.overVolts) return undefined;
  return {
    rule: "over-voltage",
    board: false,
    because: `${live.feed} reads ${volts(read)}, above the ${volts(live.overVolts)} this stage allows`,
  };
};
