import { sayAmps, sayVolts, sayWatts } from "../../../shared/words/amounts.ts";
import { firstFinding, type TripCheck } from "./finding.ts";

/** So many readings in a row: volts and amps of one reading may be of different moments in a transient. */
const RUN = 3;

/** A feed above the power its setting allows for three readings in a row, or all feeds together above the plan's. */
export const overPower: TripCheck = (view) => {
  const own = firstFinding(view, (live) => {
    const { last, overPowerRun } = live.track;
    if (last === null || overPowerRun < RUN) return null;
    return {
      rule: "over-power",
      feed: live.feed,
      board: true,
      because: `${live.feed} takes ${sayWatts(last.volts * last.amps)} (${sayVolts(last.volts)}, ${sayAmps(last.amps)}) with a limit of ${sayAmps(live.setting.limitAmps)}: the supply does not hold its limit`,
    };
  });
  if (own !== null) return own;
  const most = view.plan.trips.overPowerWatts;
  const total = (back: number): number =>
    view.state.energised.reduce((sum, { track }) => {
      const sample = track.recent.at(-1 - back);
      return sum + (sample === undefined ? 0 : Math.max(0, sample.volts * sample.amps));
    }, 0);
  if (!(total(0) > most && total(1) > most && total(2) > most)) return null;
  return {
    rule: "over-power",
    feed: null,
    board: true,
    because: `all feeds together take ${sayWatts(total(0))}, above the ${sayWatts(most)} of this plan`,
  };
};
