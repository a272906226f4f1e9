import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import type { Plan, PlanFeed, StageSetting } from "../../../shared/plan.ts";
import { coldOhmsOf, coldReadingProblems, type PlanProblem } from "../../analysis/cold-readings.ts";
import type { SupplyCapabilities } from "../capabilities.ts";
import { intervalOf } from "./compile-feed.ts";
import { DEFAULT_INPUT_FARADS } from "./default-limits.ts";
import { injectionCap } from "./injection-cap.ts";

export interface InjectionWish {
  rail: string;
  /** Which feed of the bench has its leads on the rail; its channel is used. */
  feed: string;
  /** Lowers the cap, volts; never raises it. */
  capVolts?: number;
  /** The time each level lasts, seconds, 10 to 20; default 15. */
  levelSeconds?: number;
  /** Alcohol is used on the board to see the heat: no more than 1 V. */
  alcohol?: boolean;
}

export interface InjectionRequest {
  bench: BenchFile;
  board: BoardFile | null;
  capabilities: Readonly<Record<string, SupplyCapabilities>>;
  coldOhms: ColdReadings;
  wish: InjectionWish;
}

/** Limits in amps, each 10–20 s, 60 s at the top; 5 W on the board, 100 J an attempt (common practice, no source). */
const LEVELS_AMPS = [0.5, 1, 2, 3, 5];
/** The power that a short takes at the first level, watts: a small part shows it to a thermal camera, and none burns (common practice, no source). */
const FIRST_WATTS = 0.3;
/** A level this much above the one before it, at least. */
const LEAST_RAISE = 1.25;
const TOP_MS = 60_000;
const BOARD_WATTS = 5;
const BOARD_JOULES = 100;
/** Volts up or amps down by more from one reading to the next: the short burned open (common practice, no source). */
const VOLTS_UP_SHARE = 0.2;
const AMPS_DOWN_SHARE = 0.1;
/** The supply's own protection above the cap. */
const OVER_SHARE = 1.1;
const UNKNOWN_RISE_MS = 50;

/** An injection into one rail as data, with where its cap comes from; or every field that keeps it from being made. */
export function compileInjection(
  request: InjectionRequest,
): { plan: Plan; capBecause: string } | { problems: PlanProblem[] } {
  const { bench, board, coldOhms, wish } = request;
  const problems: PlanProblem[] = coldReadingProblems(coldOhms, bench, board);
  const cap = injectionCap({
    rail: wish.rail,
    board,
    coldOhms,
    ...(wish.capVolts === undefined ? {} : { lowerTo: wish.capVolts }),
    alcohol: wish.alcohol === true,
  });
  if ("path" in cap) problems.push(cap);
  const seconds = wish.levelSeconds ?? 15;
  if (!(seconds >= 10 && seconds <= 20))
    problems.push({ path: "hold", message: `is ${seconds} s; a level should last 10 to 20 s` });
  const firstAmps = firstLevel(coldOhmsOf(coldOhms, wish.rail));
  const feed =
    "path" in cap
      ? null
      : railFeed(
          { ...request, feed: wish.feed },
          { capVolts: cap.volts, levelMs: 1000 * seconds, levelsAmps: LEVELS_AMPS, firstAmps },
        );
  if (feed !== null && "path" in feed) problems.push(feed);
  if (problems.length > 0 || "path" in cap || feed === null || "path" in feed) return { problems };
  const first = feed.nominal.limitAmps;
  const levelsAmps = [first, ...LEVELS_AMPS.filter((amps) => amps >= LEAST_RAISE * first && amps <= feed.limitAmps)];
  const name = "injection";
  const topMs = TOP_MS;
  const levelMs = 1000 * seconds;
  return {
    capBecause: cap.because,
    plan: injectionPlan({
      ...{ name, feed, rail: wish.rail, capVolts: cap.volts, levelsAmps, levelMs, topMs },
      boardJoules: BOARD_JOULES,
    }),
  };
}

/** A plan without a power-up: one feed on a rail, under a cap, its limits in turn. */
export function injectionPlan(of: {
  name: string;
  feed: PlanFeed;
  rail: string;
  capVolts: number;
  levelsAmps: number[];
  levelMs: number;
  topMs: number;
  boardJoules: number;
}): Plan {
  const { name, feed, ...inject } = of;
  return {
    version: 1,
    name,
    feeds: [feed],
    watch: { seconds: inject.levelMs / 1000, slowestPeriodMs: 1000 },
    // Never at nominal; a level ends by its own time.
    maxOnMs: TOP_MS,
    keepOn: false,
    backFeedVolts: 0.3,
    residualVolts: 0.3,
    trips: {
      overPowerWatts: 2 * feed.nominal.overVolts * feed.limitAmps,
      creepSharePerMin: 0.05,
      creepAfterMs: 60_000,
      creepRatio: 1.5,
      staleMs: Math.min(3000, Math.max(500, 4 * feed.readIntervalMs)),
      shortOhms: 0.5,
      partialShortOhms: 100,
      doubtfulOhms: 1000,
      touchJoules: 0.1,
    },
    ladder: { attemptMs: 1000, offMs: 10_000, raises: 0 },
    inject: { ...inject, boardWatts: BOARD_WATTS, voltsUpShare: VOLTS_UP_SHARE, ampsDownShare: AMPS_DOWN_SHARE },
  };
}

/** I = √(0.3 W / R) of the cold ohms, rounded down to two figures, 0.1 A at least; 0.5 A where they were not read. */
function firstLevel(ohms: number | null): number {
  if (ohms === null) return LEVELS_AMPS[0] ?? 0.5;
  const amps = Math.sqrt(FIRST_WATTS / Math.max(ohms, 1e-3));
  const figure = 10 ** (Math.floor(Math.log10(amps)) - 1);
  return Math.max(0.1, Number((Math.floor(amps / figure + 1e-9) * figure).toPrecision(2)));
}

/** The feed whose leads are on a rail in place of its input, with the highest of the levels that its channel gives; or why it cannot be. */
export function railFeed(
  { bench, capabilities, feed: name }: Pick<InjectionRequest, "bench" | "capabilities"> & { feed: string },
  of: { capVolts: number; levelMs: number; levelsAmps: readonly number[]; firstAmps: number },
): PlanFeed | PlanProblem {
  const { capVolts, levelMs, levelsAmps, firstAmps } = of;
  const names = Object.entries(bench.feeds).flatMap(([name, entry]) => ("manual" in entry ? [] : [name]));
  const entry = Object.hasOwn(bench.feeds, name) ? bench.feeds[name] : undefined;
  if (entry === undefined || "manual" in entry)
    return {
      path: "feed",
      message: `is ${JSON.stringify(name)}; it should be a feed this bench switches: ${names.join(", ")}`,
    };
  const capability = capabilities[entry.supply];
  const channel = capability?.channels[String(entry.channel)];
  const mostAmps = channel?.maxAmps ?? Math.max(...levelsAmps);
  const limitAmps = Math.max(0, ...levelsAmps.filter((amps) => amps <= mostAmps * 1.0001));
  if (limitAmps === 0)
    return {
      path: "feed",
      message: `is ${name}, but ${entry.supply} channel ${entry.channel} gives at most ${mostAmps} A; ${Math.min(...levelsAmps)} A is needed`,
    };
  const remote = entry.sense === "remote";
  // Under remote sense the protection sees the drop of the leads as well.
  const overVolts = OVER_SHARE * capVolts + (remote ? limitAmps * (entry.leadOhms ?? 0) : 0);
  const setting: StageSetting = {
    volts: capVolts,
    limitAmps: Math.min(firstAmps, limitAmps),
    overVolts,
    maxMs: levelMs,
  };
  return {
    feed: name,
    order: 1,
    supply: entry.supply,
    channel: entry.channel,
    nominalVolts: capVolts,
    tolerance: [-1, 0],
    limitAmps,
    maxVolts: overVolts,
    leadOhms: entry.leadOhms ?? null,
    sense: entry.sense,
    readsAtSense: entry.readsAtSense,
    stepVolts: capability?.stepVolts ?? null,
    stepAmps: capability?.stepAmps ?? null,
    offsetAmps: capability?.offsetAmps ?? null,
    hasOverVoltage: capability?.hasOverVoltage ?? false,
    hasOverCurrent: capability?.hasOverCurrent ?? false,
    supplyRiseMs: capability?.riseMs ?? UNKNOWN_RISE_MS,
    readIntervalMs: intervalOf(bench, capabilities, name),
    roundMs: names
      .filter((each) => isOnSupply(bench, each, entry.supply))
      .reduce((sum, each) => sum + intervalOf(bench, capabilities, each), 0),
    inputFaradsMax: DEFAULT_INPUT_FARADS,
    coldOhms: null,
    touch: setting,
    holdLow: null,
    nominal: setting,
    ladderAmps: [],
    twoLimitAmps: [0.2, 0.4],
    // The limit is what is wanted here.
    allowedLimitingMs: TOP_MS,
  };
}

const isOnSupply = (bench: BenchFile, name: string, supply: string): boolean => {
  const entry = bench.feeds[name];
  return entry !== undefined && !("manual" in entry) && entry.supply === supply;
};
