import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { PlanFeed } from "../../../shared/plan.ts";
import { allowedLimitingMs } from "../../analysis/allowed-limiting.ts";
import type { PlanProblem } from "../../analysis/cold-readings.ts";
import type { SupplyCapabilities } from "../capabilities.ts";
import { closeIntervalMs } from "./close-interval.ts";
import type { FeedLimits } from "./feed-limits.ts";
import { stageSettings } from "./feed-settings.ts";

export interface FeedRequest {
  names: readonly string[];
  order: number;
  limits: FeedLimits;
  bench: BenchFile;
  capabilities: Readonly<Record<string, SupplyCapabilities>>;
  coldOhms: number | null;
  /** Longest a rise may take where the meter is quick enough. */
  attemptMs: number;
  /** Time to read every feed of the same supply once. */
  roundMs: number;
}

/** Taken where a supply was not asked yet, milliseconds. */
const UNKNOWN_INTERVAL_MS = 100;
const UNKNOWN_RISE_MS = 50;

/**
 * One feed of the plan, or what keeps it out: nominal volts or a stated limit above what its channel gives. A default
 * limit above the channel's rating is lowered to it instead, and said.
 */
export function compileFeed(request: FeedRequest): { feed: PlanFeed | null; problems: PlanProblem[] } {
  const [name = "", ...ganged] = request.names;
  const entry = request.bench.feeds[name];
  if (entry === undefined) return { feed: null, problems: [] };
  const manual = "manual" in entry;
  const capability = manual ? undefined : request.capabilities[entry.supply];
  const channel = manual ? undefined : capability?.channels[String(entry.channel)];
  const problems: PlanProblem[] = [];
  const maxVolts = channel?.maxVolts ?? Number.POSITIVE_INFINITY;
  const maxAmps = channel?.maxAmps ?? Number.POSITIVE_INFINITY;
  const source = manual ? "" : `supply ${entry.supply} channel ${entry.channel}`;
  let { limits } = request;
  if (limits.nominalVolts > maxVolts * 1.0001) {
    problems.push({
      path: `feeds.${name}.nominalVolts`,
      message: `is ${limits.nominalVolts} V, but ${source} gives at most ${maxVolts} V`,
    });
  }
  if (limits.limitAmps > maxAmps * 1.0001) {
    if (limits.limitStated) {
      problems.push({
        path: `feeds.${name}.limitAmps`,
        message: `is ${limits.limitAmps} A, but ${source} gives at most ${maxAmps} A`,
      });
    } else limits = lowered(limits, maxAmps, source);
  }
  if (problems.length > 0) return { feed: null, problems };
  const readIntervalMs = intervalOf(request.bench, request.capabilities, name);
  const supplyRiseMs = manual ? 0 : (capability?.riseMs ?? UNKNOWN_RISE_MS);
  const settings = stageSettings(limits, {
    remoteSense: !manual && entry.sense === "remote",
    leadOhms: entry.leadOhms ?? null,
    readIntervalMs,
    // Two readings must fit; a feed that stays in its limit is cut by its own rule, within a second.
    attemptMs: Math.min(3000, Math.max(request.attemptMs, 4 * request.roundMs)),
  });
  const charging = {
    farads: limits.inputFaradsMax,
    volts: limits.nominalVolts,
    limitAmps: limits.firstAmps,
    supplyRiseMs,
    // While it comes up the others are read less often.
    readIntervalMs: closeIntervalMs({ readIntervalMs, roundMs: request.roundMs }),
  };
  return {
    problems,
    feed: {
      feed: name,
      order: Math.round(request.order),
      supply: manual ? null : entry.supply,
      channel: manual ? null : entry.channel,
      nominalVolts: limits.nominalVolts,
      tolerance: limits.tolerance,
      limitAmps: limits.limitAmps,
      maxVolts: limits.maxVolts,
      leadOhms: entry.leadOhms ?? null,
      ...(manual || entry.leadExpandedOhms === undefined ? {} : { leadExpandedOhms: entry.leadExpandedOhms }),
      sense: manual ? "unknown" : entry.sense,
      readsAtSense: manual ? "unknown" : entry.readsAtSense,
      stepVolts: capability?.stepVolts ?? null,
      stepAmps: capability?.stepAmps ?? null,
      offsetAmps: capability?.offsetAmps ?? null,
      hasOverVoltage: capability?.hasOverVoltage ?? false,
      hasOverCurrent: capability?.hasOverCurrent ?? false,
      supplyRiseMs,
      readIntervalMs,
      ...(request.roundMs > readIntervalMs ? { roundMs: request.roundMs } : {}),
      inputFaradsMax: limits.inputFaradsMax,
      coldOhms: request.coldOhms,
      ...settings,
      ladderAmps: limits.ladderAmps,
      allowedLimitingMs: allowedLimitingMs(charging),
      ...(limits.holdLowMostAmps === null ? {} : { holdLowMostAmps: limits.holdLowMostAmps }),
      ...(limits.lockOutVolts === null ? {} : { lockOutVolts: limits.lockOutVolts }),
      ...(ganged.length === 0 ? {} : { ganged }),
      ...(limits.assumed.length === 0 ? {} : { assumed: limits.assumed }),
    },
  };
}

/** Shortest time from one reading of a feed to the next, milliseconds; 0 for one a person switches. */
export function intervalOf(bench: BenchFile, capabilities: FeedRequest["capabilities"], name: string): number {
  const entry = bench.feeds[name];
  if (entry === undefined || "manual" in entry) return 0;
  return capabilities[entry.supply]?.channels[String(entry.channel)]?.readIntervalMs ?? UNKNOWN_INTERVAL_MS;
}

function lowered(limits: FeedLimits, maxAmps: number, source: string): FeedLimits {
  return {
    ...limits,
    limitAmps: maxAmps,
    firstAmps: Math.min(limits.firstAmps, maxAmps),
    ladderAmps: limits.ladderAmps.filter((amps) => amps <= maxAmps),
    assumed: [...limits.assumed, `limit lowered to the ${maxAmps} A of ${source}`],
  };
}
