import type { BoardFile } from "../../shared/board-file.ts";
import type { Candidate } from "../../shared/draw-verdict.ts";
import { at } from "../analysis/at.ts";
import type { Attempt } from "./attempt.ts";
import { type FeedFigures, touchedClean } from "./feed-figures.ts";
import type { Finding } from "./finding.ts";
import { sayAmps, sayMs, sayOhms, sayShare, sayVolts } from "./say.ts";
import { startDemandAmps } from "./start-demand.ts";
import { LIMITS } from "./verdict-limits.ts";

/**
 * What a feed that stays in the limit at its nominal set-point says, or null where none does. A start that loops, and a
 * steady limit after a clean touch, are `cannot-tell` between a limit too low and an overload unless the limit was well
 * above what the board needs to start; never `retrying`, which keeps its volts.
 */
export function ruleLimited(figures: FeedFigures, board: BoardFile | null): Finding | null {
  const attempt = figures.attempts[figures.attempts.length - 1];
  if (attempt === undefined) return null;
  const { feed } = figures.view;
  const limit = attempt.limitAmps === null ? "its limit" : `its limit of ${sayAmps(attempt.limitAmps)}`;
  const loops = attempt.falls >= 2 || (attempt.endsLimited && attempt.rises >= 2 && attempt.swing > 0.03);
  if (loops) return loopOf(figures, attempt, limit, board);
  if (!attempt.endsLimited) return cutShortOf(figures, attempt, limit, board);
  const ohms = attempt.endVolts / attempt.endAmps - (figures.view.trace.leadOhms ?? 0);
  const share = attempt.aimVolts === null ? null : attempt.endVolts / attempt.aimVolts;
  const because = [
    `Feed ${feed} stayed in ${limit} for ${sayMs(attempt.limitedMs)} and ended at ${sayVolts(attempt.endVolts)}${
      share === null ? "" : `, ${sayShare(share)} of its set-point`
    }.`,
  ];
  if (ohms < LIMITS.deadShortOhms) {
    because.push(
      `${sayVolts(attempt.endVolts)} at ${sayAmps(attempt.endAmps)} is ${sayOhms(Math.max(0, ohms))}: a dead short.`,
    );
    const rivals = [{ class: "overload" as const, probability: 0.06 }];
    return { class: "dead-short", probability: 0.92, rivals, because, feed, shortOhms: Math.max(0, ohms) };
  }
  const clean = touchedClean(figures);
  const enough = limitIsEnough(figures, attempt, board);
  if (clean && !enough) {
    because.push(
      "It drew nothing at 0.9 V, so it is no plain resistor: a converter that cannot start on this limit looks like this, and so does an overload.",
      tryNext(figures, attempt, board),
    );
    return undecided(because, feed);
  }
  because.push(
    enough
      ? "That limit is well above what this board needs to start."
      : "No look at low voltage was recorded, so an ohmic path and a converter that cannot start are not told apart.",
  );
  return {
    class: "overload",
    sub: enough && clean ? "over-demand" : "unknown",
    probability: enough ? 0.9 : 0.7,
    rivals: enough ? [] : [{ class: "core-alive", probability: 0.15 }],
    because,
    feed,
    ...(share !== null && share < 0.5 ? { shortOhms: Math.max(0, ohms) } : {}),
  };
}

function loopOf(figures: FeedFigures, attempt: Attempt, limit: string, board: BoardFile | null): Finding {
  const times = Math.max(attempt.falls, attempt.rises);
  const aim = attempt.aimVolts ?? 0;
  const because = [
    `Feed ${figures.view.feed} rose and fell ${times} times under ${limit}${
      attempt.falls >= 2
        ? `, each time from above ${sayVolts(LIMITS.reachedShare * aim)} to under ${sayVolts(LIMITS.fallenShare * aim)}`
        : ""
    }: a start that loops, not a converter that retries, since the volts fall with it.`,
    tryNext(figures, attempt, board),
  ];
  const found = undecided(because, figures.view.feed);
  // A limit that should have been enough makes the overload likelier, and still proves nothing.
  if (limitIsEnough(figures, attempt, board)) {
    found.rivals = [
      { class: "overload", probability: 0.75 },
      { class: "core-alive", probability: 0.15 },
    ];
  }
  return { ...found, sub: "start-loop" };
}

/** In the limit for less than this, a record that ends says nothing about it. */
const LEAST_LIMITED_MS = 50;

/**
 * A record that ends soon after the rise, with the feed still going in and out of its limit: neither long enough in it
 * to be steady nor falling far enough to be seen looping by this meter. What a start cut by its trip often looks like.
 */
function cutShortOf(figures: FeedFigures, attempt: Attempt, limit: string, board: BoardFile | null): Finding | null {
  const { atMs } = figures.view.trace;
  const { limited } = attempt;
  if (at(atMs, attempt.to - 1) - at(atMs, attempt.from) >= LIMITS.leastWatchMs) return null;
  const times = limited.reduce(
    (sum, flag, i) => (flag === 1 && (i === 0 || at(limited, i - 1) !== 1) ? sum + 1 : sum),
    0,
  );
  if (times < 2 || attempt.limitedMs < LEAST_LIMITED_MS || !limited.subarray(-5).includes(1)) return null;
  const { feed } = figures.view;
  const because = [
    `Feed ${feed} went into ${limit} ${times} times, ${sayMs(attempt.limitedMs)} in all, and the record ends there: a start that this limit does not carry, or an overload.`,
    tryNext(figures, attempt, board),
  ];
  return { ...undecided(because, feed), sub: "start-loop" };
}

/** One and a third times the start demand: what a limit must have to be no excuse (common practice, no source). */
function limitIsEnough(figures: FeedFigures, attempt: Attempt, board: BoardFile | null): boolean {
  const demand = startDemandAmps(figures, board);
  return demand !== null && attempt.limitAmps !== null && attempt.limitAmps >= 1.3 * demand;
}

function tryNext(figures: FeedFigures, attempt: Attempt, board: BoardFile | null): string {
  const demand = startDemandAmps(figures, board);
  const most = figures.view.boardFeed?.limitAmps;
  if (demand !== null && attempt.limitAmps !== null && demand > attempt.limitAmps) {
    const wanted = most === undefined ? demand : Math.min(demand, most);
    return `A good board of this kind may need up to ${sayAmps(demand)} to start; the next limit to try is ${sayAmps(wanted)}, once cold ohms and touch are clean.`;
  }
  return "A second try at a higher limit, within what the board allows and after a clean touch, decides: a jump to nominal means start demand.";
}

/** Nothing but a second try decides between these. */
export const LIMIT_RIVALS: readonly Candidate[] = [
  { class: "overload", probability: 0.5 },
  { class: "core-alive", probability: 0.3 },
  { class: "normal", probability: 0.1 },
];

const undecided = (because: string[], feed: string): Finding => ({
  class: "cannot-tell",
  probability: 0,
  rivals: [...LIMIT_RIVALS],
  because,
  feed,
});
