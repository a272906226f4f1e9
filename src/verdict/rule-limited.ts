import type { DrawInput } from "../../shared/draw-input.ts";
import type { Candidate } from "../../shared/draw-verdict.ts";
import { sayAmps, sayMs, sayOhms, sayShare, sayVolts } from "../../shared/words/amounts.ts";
import { at } from "../analysis/at.ts";
import { ampsUncertainty, voltsUncertainty } from "../analysis/reading-uncertainty.ts";
import { leadsOf, shortResistanceOf } from "../analysis/short-resistance.ts";
import type { Attempt } from "./attempt.ts";
import { type FeedFigures, touchedClean } from "./feed-figures.ts";
import type { Finding } from "./finding.ts";
import { sayFeed } from "./say.ts";
import { shareAbove } from "./share-above.ts";
import { startDemandAmps } from "./start-demand.ts";

/** The facts known of the board and its surroundings. */
type Known = Pick<DrawInput, "board" | "conditions">;

/**
 * The finding of a feed that stays in the limit at its nominal set-point, or null where none does. A start that loops, and a
 * steady limit after a clean touch, are `cannot-tell` between a limit too low and an overload unless the limit was well
 * above what the board needs to start; never `retrying`, which keeps its volts.
 */
export function ruleLimited(figures: FeedFigures, given: Known): Finding | null {
  const attempt = figures.attempts[figures.attempts.length - 1];
  if (attempt === undefined) return null;
  const { feed } = figures.view;
  const limit = attempt.limitAmps === null ? "its limit" : `its limit of ${sayAmps(attempt.limitAmps)}`;
  const loops = attempt.falls >= 2 || (attempt.endsLimited && attempt.rises >= 2 && attempt.swing > 0.03);
  if (loops) return loopOf(figures, attempt, limit, given);
  if (!attempt.endsLimited) return cutShortOf(figures, attempt, limit, given);
  const { ohms, expandedOhms } = endResistance(figures, attempt);
  const share = attempt.aimVolts === null ? null : attempt.endVolts / attempt.aimVolts;
  const because = [
    `${sayFeed(feed)} stayed at ${limit} for ${sayMs(attempt.limitedMs)} and ended at ${sayVolts(attempt.endVolts)}${share === null ? "" : `, ${sayShare(share)} of its set-point`}.`,
  ];
  if (ohms < figures.view.limits.deadShortOhms) {
    because.push(`${sayVolts(attempt.endVolts)} at ${sayAmps(attempt.endAmps)} is ${sayOhms(ohms)}: a dead short.`);
    const over = shareAbove(ohms, figures.view.limits.deadShortOhms, expandedOhms / 2);
    const rivals = [{ class: "overload" as const, probability: Math.max(0.04, 0.97 * over) }];
    return {
      class: "dead-short",
      probability: 0.95 * (1 - over),
      rivals,
      because,
      feed,
      shortOhms: ohms,
      shortOhmsU: expandedOhms / 2,
    };
  }
  const clean = touchedClean(figures);
  const enough = shareEnough(figures, attempt, given) >= SURE_ENOUGH;
  if (clean && !enough) {
    because.push(
      "It drew nothing at 0.9 V, so it is not a plain resistor. A converter that cannot start with this limit looks like this, and so does an overload.",
      tryNext(figures, attempt, given),
    );
    return { ...undecided(because, feed), rivals: limitRivals(shareEnough(figures, attempt, given)) };
  }
  because.push(
    enough
      ? "The limit is well above what this board needs to start."
      : "No test at low voltage was recorded, so a resistive path and a converter that cannot start cannot be told apart.",
  );
  return {
    class: "overload",
    sub: enough && clean ? "over-demand" : "unknown",
    probability: enough ? 0.9 : 0.7,
    rivals: enough ? [] : [{ class: "core-alive", probability: 0.15 }],
    because,
    feed,
    ...(share !== null && share < 0.5 ? { shortOhms: ohms, shortOhmsU: expandedOhms / 2 } : {}),
  };
}

function loopOf(figures: FeedFigures, attempt: Attempt, limit: string, given: Known): Finding {
  const times = Math.max(attempt.falls, attempt.rises);
  const aim = attempt.aimVolts ?? 0;
  const { limits } = figures.view;
  const because = [
    `${sayFeed(figures.view.feed)} rose and fell ${times} times below ${limit}${
      attempt.falls >= 2
        ? `, each time from above ${sayVolts(limits.reachedShare * aim)} to below ${sayVolts(limits.fallenShare * aim)}`
        : ""
    }: a start that loops. It is not a retrying converter, because the voltage falls too.`,
    tryNext(figures, attempt, given),
  ];
  const found = undecided(because, figures.view.feed);
  found.rivals = limitRivals(shareEnough(figures, attempt, given));
  return { ...found, sub: "start-loop" };
}

/** In the limit for less than this, a record that ends says nothing about it. */
const LEAST_LIMITED_MS = 50;

/**
 * A record that ends soon after the rise, with the feed still going in and out of its limit: neither long enough in it
 * to be steady nor falling far enough to be seen looping by this meter. What a start cut by its trip often looks like.
 */
function cutShortOf(figures: FeedFigures, attempt: Attempt, limit: string, given: Known): Finding | null {
  const { atMs } = figures.view.trace;
  const { limited } = attempt;
  if (at(atMs, attempt.to - 1) - at(atMs, attempt.from) >= figures.view.limits.leastWatchMs) return null;
  const times = limited.reduce(
    (sum, flag, i) => (flag === 1 && (i === 0 || at(limited, i - 1) !== 1) ? sum + 1 : sum),
    0,
  );
  if (times < 2 || attempt.limitedMs < LEAST_LIMITED_MS || !limited.subarray(-5).includes(1)) return null;
  const { feed } = figures.view;
  const because = [
    `${sayFeed(feed)} reached ${limit} ${times} times, for ${sayMs(attempt.limitedMs)} in all, and the record ends there: either a start that this limit cannot supply, or an overload.`,
    tryNext(figures, attempt, given),
  ];
  return { ...undecided(because, feed), sub: "start-loop" };
}

/** One and a third times the start demand: what a limit must have to be no excuse; boards' demands differ by a seventh (common practice, no source). */
const ENOUGH = 1.3;
const DEMAND_SIGMA = 0.15;
/** From this on a steady limit is called an overload; below, a start demand is not ruled out. */
const SURE_ENOUGH = 0.8;

/** Probability that this limit is more than the board needs to start; 0 where that is not known. */
function shareEnough(figures: FeedFigures, attempt: Attempt, given: Known): number {
  const demand = startDemandAmps(figures, given);
  if (demand === null || attempt.limitAmps === null) return 0;
  return shareAbove(Math.log(attempt.limitAmps / demand), Math.log(ENOUGH), DEMAND_SIGMA);
}

/** The feed's readings at its end, behind the leads. */
function endResistance({ view }: FeedFigures, { endVolts, endAmps }: Attempt): { ohms: number; expandedOhms: number } {
  return shortResistanceOf({
    volts: endVolts,
    amps: endAmps,
    ...leadsOf(view.trace),
    voltsU: voltsUncertainty(endVolts, view.trace.accuracy, view.stepVolts),
    ampsU: ampsUncertainty(endAmps, view.trace.accuracy, view.stepAmps),
  });
}

function tryNext(figures: FeedFigures, attempt: Attempt, given: Known): string {
  const demand = startDemandAmps(figures, given);
  const most = figures.view.boardFeed?.limitAmps;
  if (demand !== null && attempt.limitAmps !== null && demand > attempt.limitAmps) {
    const wanted = most === undefined ? demand : Math.min(demand, most);
    return `A good board of this kind may need up to ${sayAmps(demand)} to start. The next limit to try is ${sayAmps(wanted)}, if the cold ohms and the touch are clean.`;
  }
  return "A second attempt at a higher limit, within what the board allows and after a clean touch, decides: if the voltage jumps to nominal, the start needed more current.";
}

/** Nothing but a second try decides between these. */
export const LIMIT_RIVALS: readonly Candidate[] = [
  { class: "overload", probability: 0.42 },
  { class: "core-alive", probability: 0.3 },
  { class: "normal", probability: 0.2 },
];

/** The same where the limit should have been enough, by how likely that is: the overload is likelier then, and still not proved. */
const limitRivals = (enough: number): Candidate[] =>
  LIMIT_RIVALS.map((each) => ({
    class: each.class,
    probability: each.class === "overload" ? each.probability + 0.35 * enough : each.probability * (1 - 0.65 * enough),
  }));

const undecided = (because: string[], feed: string): Finding => ({
  class: "cannot-tell",
  probability: 0,
  rivals: [...LIMIT_RIVALS],
  because,
  feed,
});
