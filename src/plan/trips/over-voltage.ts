import { sayVolts } from "../../../shared/words/amounts.ts";
import { stepVoltsOf } from "../machine/feed-track.ts";
import { firstFinding, type TripCheck } from "./finding.ts";

/** A reading above the over-voltage level of its stage, by more than two read-back steps. */
export const overVoltage: TripCheck = (view) =>
  firstFinding(view, (live, feed) => {
    const { last } = live.track;
    if (last === null || last.volts <= live.setting.overVolts + 2 * stepVoltsOf(feed)) return null;
    const layer = feed.hasOverVoltage
      ? "the supply's own protection should have acted first"
      : "the supply has no over-voltage protection, so this cut comes after the fact";
    return {
      rule: "over-voltage",
      feed: live.feed,
      board: true,
      because: `${live.feed} reads ${sayVolts(last.volts)}, above the ${sayVolts(live.setting.overVolts)} allowed in this stage; ${layer}`,
    };
  });
