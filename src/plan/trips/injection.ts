import { sayAmps, sayJoules, sayVolts, sayWatts } from "../../../shared/words/amounts.ts";
import { stepAmpsOf } from "../machine/feed-track.ts";
import { clearedBetween } from "../machine/inject-track.ts";
import { plannedFeed } from "../machine/plan-feeds.ts";
import type { Finding, TripCheck } from "./finding.ts";

/** A cut takes this long from the reading that asks for it, milliseconds; counted into the energy. */
const CUT_MS = 30;
/** So many readings in a row. */
const RUN = 2;

/**
 * The rules that stop an injection: the power or the energy allowed on the board, a short that is gone, a supply that does not hold
 * its limit. Only looks at a level that is on.
 */
export const injection: TripCheck = ({ plan, state }) => {
  const { step, ledger } = state;
  const planned = step.step === "inject" ? plannedFeed(plan, step.feed) : undefined;
  if (step.step !== "inject" || plan.inject === undefined || planned === undefined) return null;
  const { boardWatts, boardJoules, capVolts } = plan.inject;
  const { level, base, stepFrom, lastWatts, clearedRun } = step.track;
  const found = (rule: Finding["rule"], because: string, board = true): Finding => ({
    rule,
    feed: step.feed,
    board,
    because,
  });
  const now = `${sayVolts(level.volts)} at ${sayAmps(level.amps)}`;
  if (lastWatts >= boardWatts)
    return found(
      "over-power",
      `${step.feed} puts ${sayWatts(lastWatts)} into the board (${now}); at most ${sayWatts(boardWatts)} is allowed`,
    );
  const joules = ledger.levels.reduce((sum, each) => sum + each.joules, 0);
  // The other outputs of its supply are looked at in between.
  const ahead = (lastWatts * ((planned.roundMs ?? planned.readIntervalMs) + CUT_MS)) / 1000;
  if (joules + ahead >= boardJoules)
    return found(
      "energy",
      `${step.feed} put ${sayJoules(joules)} into the board in this attempt; at most ${sayJoules(boardJoules)} is allowed`,
    );
  const wasBefore = base !== null && clearedBetween(plan.inject, planned, ledger.levels.at(-2), base);
  if (clearedRun >= RUN || wasBefore) {
    const was =
      wasBefore || stepFrom === null
        ? sayAmps(ledger.levels.at(-2)?.amps ?? 0)
        : `${sayVolts(stepFrom.volts)} at ${sayAmps(stepFrom.amps)}`;
    return found(
      "cleared",
      `the short opened under injection: ${was} became ${now} at once. That is not a repair: find the part that was shorted and replace it`,
    );
  }
  const short = 0.02 * level.limitAmps + Math.max(3 * stepAmpsOf(planned), planned.offsetAmps ?? 0);
  if (base !== null && level.limited && base.volts < 0.9 * capVolts && base.amps < level.limitAmps - short)
    return found(
      "collapse",
      `${step.feed} is at its limit of ${sayAmps(level.limitAmps)} but delivers ${sayAmps(base.amps)}: the supply does not hold its limit into a short`,
      false,
    );
  return null;
};
