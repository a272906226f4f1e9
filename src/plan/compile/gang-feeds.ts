import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { PlanProblem } from "../../analysis/cold-readings.ts";
import type { FeedLimits } from "./feed-limits.ts";

/** One feed of the plan: the first of `names` in order speaks for all of them. */
export interface GangedFeed {
  names: string[];
  order: number;
  limits: FeedLimits;
}

/**
 * Feeds in the order they are energised, those on one supply channel joined. Their current cannot be told apart and all
 * of it may flow into one of them, so the joined feed gets the lowest of their limits; their capacitors add up. Order is
 * the board file's, and without one lower volts first, the slot before an auxiliary plug. Different volts on one channel
 * are filed under `problems`.
 */
export function gangFeeds(
  bench: BenchFile,
  board: BoardFile | null,
  limits: ReadonlyMap<string, FeedLimits>,
  problems: PlanProblem[],
): GangedFeed[] {
  const ordered = [...limits.keys()]
    .map((name, place) => ({ name, order: orderOf(name, place, board, limits) }))
    .sort((a, b) => a.order - b.order);
  const gangs = new Map<string, GangedFeed>();
  for (const { name, order } of ordered) {
    const own = limits.get(name);
    const entry = bench.feeds[name];
    if (own === undefined || entry === undefined) continue;
    const place = "manual" in entry ? `by hand: ${name}` : `${entry.supply}/${entry.channel}`;
    const first = gangs.get(place);
    if (first === undefined) {
      gangs.set(place, { names: [name], order, limits: own });
      continue;
    }
    if (Math.abs(first.limits.nominalVolts - own.nominalVolts) > 0.01) {
      problems.push({
        path: `feeds.${name}.channel`,
        message: `shares its channel with ${first.names[0]}, which needs ${first.limits.nominalVolts} V instead of ${own.nominalVolts} V; one channel has one voltage`,
      });
    }
    first.names.push(name);
    first.limits = joined(first.limits, own);
  }
  return [...gangs.values()];
}

function orderOf(
  name: string,
  place: number,
  board: BoardFile | null,
  limits: ReadonlyMap<string, FeedLimits>,
): number {
  const stated = board?.feeds[name]?.order;
  if (stated !== undefined) return stated;
  const own = limits.get(name);
  const volts = own?.nominalVolts ?? 0;
  // After every stated order; ties keep the order of the file.
  return 100 + volts * 10 + (own?.kind.words === "12 V slot" ? 0 : 5) + place / 1000;
}

function joined(a: FeedLimits, b: FeedLimits): FeedLimits {
  const limitAmps = Math.min(a.limitAmps, b.limitAmps);
  const firstAmps = Math.min(a.firstAmps, b.firstAmps, limitAmps);
  const narrower = a.limitAmps <= b.limitAmps ? a : b;
  return {
    ...narrower,
    limitAmps,
    firstAmps,
    ladderAmps: narrower.ladderAmps.filter((amps) => amps > firstAmps && amps <= limitAmps),
    maxVolts: Math.min(a.maxVolts, b.maxVolts),
    inputFaradsMax: a.inputFaradsMax + b.inputFaradsMax,
    assumed: [...a.assumed, ...b.assumed, "the lowest limit of the feeds that share this channel"],
  };
}
