import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { ColdReadings, RunConditions } from "../../../shared/permit.ts";
import type { Plan, PlanFeed } from "../../../shared/plan.ts";
import { coldOhmsOf, coldReadingProblems, type PlanProblem } from "../../analysis/cold-readings.ts";
import type { SupplyCapabilities } from "../capabilities.ts";
import { compileFeed, intervalOf } from "./compile-feed.ts";
import { BARE_JOULES, DEFAULT_ON_SECONDS } from "./default-limits.ts";
import { type FeedLimits, limitsByName, limitsFromBoard } from "./feed-limits.ts";
import { type GangedFeed, gangFeeds } from "./gang-feeds.ts";
import { compileMargin, type MarginWish } from "./margin-steps.ts";

export type { PlanProblem } from "../../analysis/cold-readings.ts";
export type { SupplyCapabilities } from "../capabilities.ts";

export interface PlanOptions {
  /** The time to watch at nominal, seconds; default 15. */
  watchSeconds?: number;
  /** The slowest pattern that should be seen, milliseconds; default 3000. */
  slowestPeriodMs?: number;
  cooler: RunConditions["cooler"];
  keepOn: boolean;
  /** Energise only these; default every feed of the bench. */
  feeds?: readonly string[];
  /** Refuse a watch that does not fit in the longest on-time, in place of one that is shorter. */
  wholeWatch?: boolean;
  /** Step one feed's volts after the watch. */
  margin?: MarginWish;
}

export interface PlanRequest {
  bench: BenchFile;
  board: BoardFile | null;
  /** By the supply's name; a supply that was not asked yet may be left out and is then not checked against. */
  capabilities: Readonly<Record<string, SupplyCapabilities>>;
  coldOhms: ColdReadings;
  options: PlanOptions;
}

/** Limits of a first power-up that hold for every board (design of the stages; common practice, no source). */
const ATTEMPT_MS = 1000;
const LADDER_OFF_MS = 10_000;
/** The time that a margin step usually takes until its draw has settled; a slower one ends with the on-time. */
const STEP_SECONDS = 1.5;

/**
 * The power-up of this board on this bench, as data, or every field that keeps it from being made. Nothing is asked of
 * an instrument. A feed of the bench that the board file does not have is refused; a feed of the board that is not on the
 * bench stays off (`feedsNotOn`). Feeds on one channel become one feed of the plan.
 */
export function compilePlan(request: PlanRequest): { plan: Plan } | { problems: PlanProblem[] } {
  const { bench, board, options, capabilities } = request;
  const problems: PlanProblem[] = [...coldReadingProblems(request.coldOhms, bench, board)];
  const wanted = options.feeds ?? Object.keys(bench.feeds);
  const limits = new Map<string, FeedLimits>();
  for (const name of wanted) {
    if (!Object.hasOwn(bench.feeds, name)) {
      problems.push({
        path: `feeds.${name}`,
        message: `is not a feed of the bench file; its feeds are: ${Object.keys(bench.feeds).join(", ")}`,
      });
      continue;
    }
    const found = limitsOf(name, board);
    if ("path" in found) problems.push(found);
    else limits.set(name, found);
  }
  const on = gangFeeds(bench, board, limits, problems);
  const roundOf = roundsBySupply(bench, capabilities, on);
  const feeds: PlanFeed[] = on.flatMap((each) => {
    const coldOhms = lowestCold(request.coldOhms, each.names);
    const compiled = compileFeed({
      ...each,
      bench,
      capabilities,
      coldOhms,
      attemptMs: ATTEMPT_MS,
      roundMs: roundOf(each.names[0] ?? ""),
    });
    problems.push(...compiled.problems);
    return compiled.feed === null ? [] : [compiled.feed];
  });
  const watchSeconds = options.watchSeconds ?? 15;
  if (!(watchSeconds > 0 && watchSeconds <= 86_400)) {
    problems.push({ path: "watchSeconds", message: `is ${watchSeconds}; it should be seconds, more than 0` });
  }
  const margin = options.margin === undefined || problems.length > 0 ? null : compileMargin(options.margin, feeds);
  if (margin !== null && "path" in margin) problems.push(margin);
  if (problems.length > 0) return { problems };
  if (feeds.length === 0)
    return { problems: [{ path: "feeds", message: "is empty; a power-up needs at least one feed" }] };
  const plan = { ...planOf(request, feeds, watchSeconds), ...margin };
  const short = tooShort(plan, watchSeconds, options);
  return short === null ? { plan } : { problems: [short] };
}

/** Why the longest on-time does not hold what is asked; null where it does, or a shorter watch is as good. */
function tooShort({ maxOnMs, margin }: Plan, watchSeconds: number, options: PlanOptions): PlanProblem | null {
  if (options.wholeWatch !== true && margin === undefined) return null;
  const steps = margin === undefined ? 0 : margin.stepVolts.length * STEP_SECONDS;
  const wanted = watchSeconds + steps;
  if (wanted * 1000 <= maxOnMs) return null;
  const cooler =
    options.cooler === "unknown" ? "the cooler was not stated, so bare is assumed" : `cooler ${options.cooler}`;
  const asked = margin === undefined ? `${wanted} s` : `about ${wanted} s (${watchSeconds} s of watch, then the steps)`;
  return {
    path: `maxOnSeconds`,
    message: `is ${maxOnMs / 1000} s with ${cooler}; ${asked} was requested`,
  };
}

function limitsOf(name: string, board: BoardFile | null): FeedLimits | PlanProblem {
  if (board !== null) {
    const feed = board.feeds[name];
    if (feed !== undefined) return limitsFromBoard(name, feed);
    return {
      path: `feeds.${name}`,
      message: `is not a feed of the board ${board.name}; its feeds are: ${Object.keys(board.feeds).join(", ")}`,
    };
  }
  return (
    limitsByName(name) ?? {
      path: `feeds.${name}`,
      message: "has a name for a voltage other than 12, 5 or 3.3; such a feed needs a board file with its nominalVolts",
    }
  );
}

const lowestCold = (cold: ColdReadings, names: readonly string[]): number | null => {
  const read = names.map((name) => coldOhmsOf(cold, name)).filter((ohms) => ohms !== null);
  return read.length === 0 ? null : Math.min(...read);
};

function planOf({ board, options }: PlanRequest, feeds: PlanFeed[], watchSeconds: number): Plan {
  const cooler = options.cooler === "unknown" ? "bare" : options.cooler;
  const maxOnMs = 1000 * (board?.maxOnSeconds?.[cooler] ?? DEFAULT_ON_SECONDS[cooler]);
  const inPlan = new Set(feeds.flatMap((each) => [each.feed, ...(each.ganged ?? [])]));
  const feedsNotOn = Object.keys(board?.feeds ?? {}).filter((name) => !inPlan.has(name));
  return {
    version: 1,
    name: options.margin === undefined ? "first-power-up" : "margin",
    feeds,
    watch: { seconds: Math.min(watchSeconds, maxOnMs / 1000), slowestPeriodMs: options.slowestPeriodMs ?? 3000 },
    maxOnMs,
    ...(cooler === "bare" && board?.maxOnSeconds?.bare === undefined ? { maxOnJoules: BARE_JOULES } : {}),
    keepOn: options.keepOn,
    backFeedVolts: 0.3,
    residualVolts: 0.3,
    trips: {
      overPowerWatts: 1.1 * feeds.reduce((sum, each) => sum + each.maxVolts * each.limitAmps, 0),
      creepSharePerMin: 0.05,
      creepAfterMs: 60_000,
      creepRatio: 1.5,
      staleMs: staleMsOf(feeds),
      shortOhms: 0.5,
      partialShortOhms: 100,
      doubtfulOhms: 1000,
      touchJoules: 0.1,
    },
    ladder: { attemptMs: ATTEMPT_MS, offMs: LADDER_OFF_MS, raises: 2 },
    ...(feedsNotOn.length === 0 ? {} : { feedsNotOn }),
  };
}

/** The time to read every feed of a feed's supply once, milliseconds: one question at a time on a link. */
function roundsBySupply(
  bench: BenchFile,
  capabilities: PlanRequest["capabilities"],
  feeds: readonly GangedFeed[],
): (name: string) => number {
  const rounds = new Map<string, number>();
  const supplyOf = (name: string): string | null => {
    const entry = bench.feeds[name];
    return entry === undefined || "manual" in entry ? null : entry.supply;
  };
  for (const { names } of feeds) {
    const supply = supplyOf(names[0] ?? "");
    if (supply !== null)
      rounds.set(supply, (rounds.get(supply) ?? 0) + intervalOf(bench, capabilities, names[0] ?? ""));
  }
  return (name) => rounds.get(supplyOf(name) ?? "") ?? 0;
}

/** Four rounds over the feeds of the slowest supply, and time for a setting in between; 500 ms to 3 s. */
function staleMsOf(feeds: readonly PlanFeed[]): number {
  const rounds = new Map<string, number>();
  for (const { supply, readIntervalMs } of feeds)
    if (supply !== null) rounds.set(supply, (rounds.get(supply) ?? 0) + readIntervalMs);
  return Math.min(3000, Math.max(500, 4 * Math.max(0, ...rounds.values())));
}
