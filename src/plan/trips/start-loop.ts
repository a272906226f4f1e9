import { sayAmps, sayVolts } from "../amounts.ts";
import { firstFinding, isJudged, type TripCheck } from "./finding.ts";

/** Having reached 90 % of nominal once, a second fall under 80 %: a start that loops. Never called retrying. */
export const startLoop: TripCheck = (view) =>
  firstFinding(view, (live) => {
    const { falls, last } = live.track;
    const { stage } = view.state.ledger;
    if (!isJudged(view, live) || (stage !== "rise" && stage !== "watch") || falls < 2 || last === null) return null;
    return {
      rule: "start-loop",
      feed: live.feed,
      board: true,
      higherLimit: true,
      because: `${live.feed} reached nominal and fell under 80 % of it ${falls} times, now ${sayVolts(last.volts)} and ${sayAmps(last.amps)} with a limit of ${sayAmps(live.setting.limitAmps)}; a start that cannot complete: the limit is too low or the board is overloaded`,
    };
  });
