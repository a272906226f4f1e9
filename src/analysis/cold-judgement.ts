import type { BoardFile } from "../../shared/files/board-file.ts";
import type { ColdReadings } from "../../shared/permit.ts";
import { sayOhms } from "../../shared/words/amounts.ts";
import { coldOhmsOf, OPEN_OHMS } from "./cold-readings.ts";
import { expandedColdOhms } from "./cold-uncertainty.ts";

/** The judgement of one cold reading on powering the board; `measured-bad` forbids it, and no waiver covers that. */
export interface ColdJudgement {
  state: "holds" | "measured-bad" | "unknown" | "not-done";
  evidence: string;
  /** One more measurement decides it, so only a waiver that names it reaches it. */
  byNameOnly?: boolean;
}

/** A feed as far as its cold ohms go. */
export interface ColdFeed {
  feed: string;
  nominalVolts: number;
}

/** Below `never` a feed is not powered whatever the board file says; up to `low` only where the board file says so. */
interface ColdLimits {
  never: number;
  low: number;
}

/** By the feed's class. Common practice, no source; 12 V by the tool's own rule, stricter than practice. */
const COLD_LIMITS: Readonly<Record<"twelve" | "five" | "three", ColdLimits>> = {
  twelve: { never: 100, low: 300 },
  five: { never: 10, low: 300 },
  three: { never: 10, low: 150 },
};
const HIGH_VOLTS = 9;

/** Least ohms from a 12 V feed to a core or memory rail where the board file does not say (common practice, no source). */
const LEAST_PAIR_OHMS = 100;
/** Two readings that agree this well, or within the residue of the test leads, are the same resistance. */
const SAME_SHARE = 0.2;
const LEAD_RESIDUE_OHMS = 0.3;

/** Whether two readings, in ohms, are the same resistance: within a fifth, or within what test leads leave over. */
export const isSameOhms = (a: number, b: number): boolean =>
  Math.abs(a - b) <= Math.max(SAME_SHARE * Math.max(a, b), LEAD_RESIDUE_OHMS);

/** Cold ohms of one feed to ground. */
export function judgeColdFeed(
  { feed, nominalVolts }: ColdFeed,
  board: BoardFile | null,
  cold: ColdReadings,
): ColdJudgement {
  const ohms = coldOhmsOf(cold, feed);
  if (ohms === null) return { state: "not-done", evidence: "not measured" };
  const { never, low } = COLD_LIMITS[nominalVolts >= HIGH_VOLTS ? "twelve" : nominalVolts >= 4 ? "five" : "three"];
  const same = lowRailLike(ohms, { below: never, nominalVolts }, board, cold);
  if (same !== undefined) {
    const { rail, railOhms } = same;
    return bad(
      `${say(ohms)}, the same as ${rail} (${say(railOhms)}): a shorted high side, which would put ${nominalVolts} V on ${rail}`,
    );
  }
  if (ohms < never) return bad(`${say(ohms)}, below ${say(never)}: never power it`);
  const least = board?.feeds[feed]?.coldOhmsMin;
  if (least !== undefined) {
    return ohms < least
      ? bad(`${say(ohms)}, below the ${say(least)} that the board file asks for`)
      : { state: "holds", evidence: `${say(ohms)}; the board file asks for at least ${say(least)}` };
  }
  if (ohms >= low) return { state: "holds", evidence: say(ohms) };
  // A 12 V input this low is a shorted switch or capacitor far oftener than a healthy board; lower feeds of chips do read so.
  return nominalVolts >= HIGH_VOLTS
    ? bad(`${say(ohms)}, below ${say(low)}: may be powered only if the board file's coldOhmsMin allows it`)
    : {
        state: "unknown",
        evidence: `${say(ohms)}, below ${say(low)}: suspect, unless the board file's coldOhmsMin says that good boards read so low`,
      };
}

/** A rail of much lower volts and under `below` ohms that reads the same to ground as the feed; `core` where no board file says what there is. */
function lowRailLike(
  ohms: number,
  { below, nominalVolts }: { below: number; nominalVolts: number },
  board: BoardFile | null,
  cold: ColdReadings,
): { rail: string; railOhms: number } | undefined {
  const rails =
    board === null
      ? ["core"]
      : Object.entries(board.rails)
          .filter(([, rail]) => rail.signal !== true && rail.volts < nominalVolts / 2)
          .map(([rail]) => rail);
  for (const rail of rails) {
    const railOhms = coldOhmsOf(cold, rail);
    if (railOhms !== null && railOhms < below && isSameOhms(ohms, railOhms)) return { rail, railOhms };
  }
  return undefined;
}

/** Pairs that must be apart: the board file's, or each 12 V feed to core and memory. Pairs of feeds that stay off are left out. */
export function coldPairsWanted(feeds: readonly ColdFeed[], board: BoardFile | null): string[] {
  const listed = Object.keys(board?.coldPairs ?? {});
  if (board !== null && listed.length > 0) {
    const isOn = (end: string): boolean => feeds.some((each) => each.feed === end);
    return listed.filter((pair) => pair.split(":").every((end) => isOn(end) || !Object.hasOwn(board.feeds, end)));
  }
  const high = feeds.filter((each) => each.nominalVolts >= HIGH_VOLTS);
  const rails =
    board === null ? ["core", "memory"] : Object.keys(board.rails).filter((rail) => /^(v?core|v?mem)/i.test(rail));
  return high.flatMap(({ feed }) => rails.map((rail) => `${feed}:${rail}`));
}

/** Cold ohms between the two points of a pair, `FROM:TO`. */
export function judgeColdPair(pair: string, board: BoardFile | null, cold: ColdReadings): ColdJudgement {
  const [from = pair, to = ""] = pair.split(":");
  const ohms = coldOhmsOf(cold, pair) ?? (to === "memory" ? coldOhmsOf(cold, `${from}:mem`) : null);
  if (ohms === null) return { state: "not-done", evidence: "not measured" };
  const own = coldOhmsOf(cold, to);
  const least = board?.coldPairs[pair] ?? LEAST_PAIR_OHMS;
  if (ohms < least && own !== null && isSameOhms(ohms, own))
    return bad(`${say(ohms)}, the same as ${say(own)} (${say(ohms)}): a shorted high side, never power it`);
  return ohms < least
    ? bad(`${say(ohms)}; it should be at least ${say(least)}: a shorted switch would put ${from} on ${to}`)
    : { state: "holds", evidence: `${say(ohms)}; at least ${say(least)} is right` };
}

/**
 * Cold ohms of one rail to ground. Under its `shortOhms`, or where the board file has none under half its least, it is a short;
 * under its least it is in doubt, and a person may still decide. Where the uncertainty of two wires reaches over the short's limit
 * neither is said: four wires decide. One the board wants read and that was not is not done. null: nothing is asked of this rail.
 */
export function judgeColdRail(
  rail: string,
  board: BoardFile,
  cold: ColdReadings,
  fourWire = false,
): ColdJudgement | null {
  const { coldOhms, shortOhms, coldMandatory } = board.rails[rail] ?? {};
  const ohms = coldOhmsOf(cold, rail);
  if (ohms === null)
    return coldMandatory === true ? { state: "not-done", evidence: "not measured; the board file requires it" } : null;
  if (coldOhms === undefined && shortOhms === undefined) return null;
  const least = coldOhms?.[0] ?? 0;
  const short = shortOhms ?? least / 2;
  const limit =
    shortOhms === undefined ? `half of the lowest healthy value, ${say(least)}` : `the short limit of ${say(short)}`;
  const expanded = expandedColdOhms(ohms, fourWire);
  if (Math.abs(ohms - short) < expanded && !fourWire)
    return {
      state: "unknown",
      byNameOnly: true,
      evidence: `${say(ohms)} ± ${say(expanded)} is too close to ${limit} for a two-wire reading to decide. Measure it with four wires, or send 1 A through it and read the millivolts on the board; then give the value with --ohms-four-wire ${rail}`,
    };
  if (ohms < short) return bad(`${say(ohms)}, below ${limit}: a short. Only work at low voltage is allowed`);
  return ohms < least
    ? { state: "unknown", evidence: `${say(ohms)}, below the lowest healthy value of ${say(least)}: suspect` }
    : { state: "holds", evidence: say(ohms) };
}

/**
 * Why a board with these cold readings must not be powered, in sentences by point. It is the permit's own rule: what
 * stands here is refused there.
 */
export function neverPower(board: BoardFile, cold: ColdReadings): Map<string, string> {
  const feeds = Object.entries(board.feeds).map(([feed, { nominalVolts }]): ColdFeed => ({ feed, nominalVolts }));
  const judged: [point: string, judgement: ColdJudgement | null][] = [
    ...feeds.map((each): [string, ColdJudgement] => [each.feed, judgeColdFeed(each, board, cold)]),
    ...coldPairsWanted(feeds, board).map((pair): [string, ColdJudgement] => [pair, judgeColdPair(pair, board, cold)]),
    ...Object.keys(board.rails).map((rail): [string, ColdJudgement | null] => [rail, judgeColdRail(rail, board, cold)]),
  ];
  return new Map(
    judged.flatMap(([point, judgement]) =>
      judgement?.state === "measured-bad"
        ? [[point, `${point.replace(":", " to ")} reads ${judgement.evidence}; do not power it`]]
        : [],
    ),
  );
}

const bad = (evidence: string): ColdJudgement => ({ state: "measured-bad", evidence });
const say = (ohms: number): string => (ohms >= OPEN_OHMS ? "open" : sayOhms(ohms));
