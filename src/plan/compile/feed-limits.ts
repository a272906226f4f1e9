import type { BoardFeed } from "../../../shared/files/board-file.ts";
import { sayVolts } from "../../../shared/words/amounts.ts";
import { DEFAULT_INPUT_FARADS, DEFAULT_LIMITS, type FeedDefaults, kindByName, kindOfFeed } from "./default-limits.ts";
import { ladderSteps } from "./ladder-steps.ts";

/** The limits of one feed, from the board file where it says, else from the shipped defaults. */
export interface FeedLimits {
  kind: FeedDefaults;
  nominalVolts: number;
  tolerance: [number, number];
  limitAmps: number;
  firstAmps: number;
  ladderAmps: number[];
  maxVolts: number;
  inputFaradsMax: number;
  lockOutVolts: [number, number] | null;
  holdLowMostAmps: number | null;
  /** True where the limit is the board file's own word, so that a supply that cannot give it is a contradiction. */
  limitStated: boolean;
  assumed: string[];
}

/**
 * Limits of a feed the board file describes. What is left out comes from the defaults for feeds of its volts, with the watts
 * of those: a 48 V feed gets a quarter of a 12 V feed's amps. A stated `limitAmps` without `firstAmps` is used at once if it
 * is at most twice the default first limit; a greater one is climbed to by the ladder.
 */
export function limitsFromBoard(name: string, feed: BoardFeed): FeedLimits {
  const kind = DEFAULT_LIMITS[kindOfFeed(name, feed.nominalVolts)];
  const assumed: string[] = [];
  const nearNominal = Math.abs(feed.nominalVolts / kind.nominalVolts - 1) < 0.05;
  const byWatts = (amps: number): number =>
    nearNominal || feed.nominalVolts < kind.nominalVolts
      ? amps
      : Math.floor((100 * amps * kind.nominalVolts) / feed.nominalVolts) / 100;
  const shippedFirst = byWatts(kind.firstAmps);
  const shippedLadder = kind.ladderAmps.map(byWatts);
  if (feed.limitAmps === undefined)
    assumed.push(
      `limit of a ${kind.words} feed${shippedFirst === kind.firstAmps ? "" : `, for as many watts at ${sayVolts(feed.nominalVolts)}`}`,
    );
  if (feed.maxVolts === undefined)
    assumed.push(nearNominal ? `highest voltage of a ${kind.words} feed` : "highest voltage, 10 % above nominal");
  if (feed.inputFarads === undefined) assumed.push("input capacitance of at most 5 mF");
  const limitAmps = feed.limitAmps ?? Math.max(feed.firstAmps ?? 0, shippedFirst, ...shippedLadder);
  const usual =
    limitAmps <= 2 * shippedFirst && feed.limitAmps !== undefined ? limitAmps : Math.min(shippedFirst, limitAmps);
  const firstAmps = feed.firstAmps ?? usual;
  return {
    kind,
    nominalVolts: feed.nominalVolts,
    tolerance: feed.tolerance ?? kind.tolerance,
    limitAmps,
    firstAmps,
    ladderAmps: ladderSteps(firstAmps, limitAmps, shippedLadder),
    maxVolts: feed.maxVolts ?? (nearNominal ? kind.maxVolts : feed.nominalVolts * 1.1),
    inputFaradsMax: feed.inputFarads?.[1] ?? DEFAULT_INPUT_FARADS,
    lockOutVolts: feed.lockOutVolts ?? null,
    holdLowMostAmps: feed.holdLowAmps ?? null,
    limitStated: feed.limitAmps !== undefined || feed.firstAmps !== undefined,
    assumed,
  };
}

/**
 * Limits of a feed of an unknown board, by its name alone; null where the name says volts the defaults do not have. A
 * name that says nothing is taken as 12 V auxiliary, and `assumed` begins with that so that the permit can ask.
 */
export function limitsByName(name: string): FeedLimits | null {
  const said = kindByName(name);
  if (said === "unknown-volts") return null;
  const kind = DEFAULT_LIMITS[said ?? "aux12"];
  const limitAmps = Math.max(kind.firstAmps, ...kind.ladderAmps);
  return {
    kind,
    nominalVolts: kind.nominalVolts,
    tolerance: kind.tolerance,
    limitAmps,
    firstAmps: kind.firstAmps,
    ladderAmps: [...kind.ladderAmps],
    maxVolts: kind.maxVolts,
    inputFaradsMax: DEFAULT_INPUT_FARADS,
    lockOutVolts: null,
    holdLowMostAmps: null,
    limitStated: false,
    assumed: [
      ...(said === null ? [NOMINAL_ASSUMED] : []),
      `limits of a ${kind.words} feed, by its name`,
      "input capacitance of at most 5 mF",
    ],
  };
}

/** Stands first in `assumed` where not even the nominal volts were stated. */
export const NOMINAL_ASSUMED = "nominal 12 V";
