import { sayOhms } from "../../../shared/amounts.ts";
import type { BoardFile } from "../../../shared/board-file.ts";
import type { FiledColdReadings } from "../../../shared/cold-evidence.ts";
import type { ColdReadings, PermitItem } from "../../../shared/permit.ts";
import type { Plan, PlanFeed } from "../../../shared/plan.ts";
import { coldOhmsOf, OPEN_OHMS, readingAt } from "../../analysis/cold-readings.ts";
import type { PermitEvidence } from "./permit-evidence.ts";
import { fact, type PermitFact } from "./permit-fact.ts";

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

/** Least ohms from a 12 V feed to a core or memory rail where the board file does not say (common practice, no source). */
const LEAST_PAIR_OHMS = 100;
/** Two readings that agree this well, or within the residue of the test leads, are the same resistance. */
const SAME_SHARE = 0.2;
const LEAD_RESIDUE_OHMS = 0.3;

/** Cold ohms of each feed, of each pair that must be apart, of each rail the board wants read, and of each that was. */
export function coldItems(plan: Plan, board: BoardFile | null, evidence: ColdEvidence): PermitFact[] {
  const cold: ColdReadings = { ...ohmsOf(evidence.coldFiled ?? {}), ...evidence.coldOhms };
  const named = plan.feeds.flatMap((each) => [each.feed, ...(each.ganged ?? [])].map((name) => ({ name, feed: each })));
  const names = named.map((each) => each.name);
  return [
    ...named.map(({ name, feed }) => aged(name, feedItem(name, feed, board, cold), evidence)),
    ...pairsWanted(names, plan, board).map((pair) => aged(pair, pairItem(pair, board, cold), evidence)),
    ...railItems(board, cold).map(({ rail, item }) => aged(rail, item, evidence)),
  ];
}

/** Cold readings as the permit looks at them: those handed in now, and those of the job, with their age. */
export type ColdEvidence = Pick<PermitEvidence, "coldOhms" | "coldAgeMs" | "coldFiled">;

const ohmsOf = (filed: FiledColdReadings): ColdReadings =>
  Object.fromEntries(Object.entries(filed).map(([point, { ohms }]) => [point, ohms]));

/** The item with the age of its reading; one that has expired is no longer done, and what it found bad stays bad. */
function aged(point: string, item: PermitFact, { coldOhms, coldAgeMs, coldFiled = {} }: ColdEvidence): PermitFact {
  if (coldOhmsOf(coldOhms, point) !== null) return { ...item, ageMs: coldAgeMs ?? null };
  const filed = readingAt(coldFiled, point);
  if (filed === undefined) return item;
  if (filed.expired === null) return { ...item, ageMs: filed.ageMs };
  return {
    ...item,
    ageMs: filed.ageMs,
    state: item.state === "measured-bad" ? "measured-bad" : "not-done",
    evidence: `${item.evidence}; ${filed.expired}: measure again`,
  };
}

function feedItem(name: string, feed: PlanFeed, board: BoardFile | null, cold: ColdReadings): PermitFact {
  const asks = `Cold ohms of ${name}`;
  const ohms = coldOhmsOf(cold, name);
  const item = (state: PermitItem["state"], evidence: string): PermitFact =>
    fact(`cold:${name}`, name, asks, state, evidence, null);
  if (ohms === null) return item("not-done", "not measured");
  const { never, low } = COLD_LIMITS[feed.nominalVolts >= 9 ? "twelve" : feed.nominalVolts >= 4 ? "five" : "three"];
  const least = board?.feeds[name]?.coldOhmsMin;
  const same = lowRailLike(ohms, never, feed, board, cold);
  if (same !== undefined) {
    const { rail, railOhms } = same;
    return item(
      "measured-bad",
      `${say(ohms)}, as ${rail} itself reads ${say(railOhms)}: a shorted high side, ${feed.nominalVolts} V would reach ${rail}`,
    );
  }
  if (ohms < never) return item("measured-bad", `${say(ohms)}, under ${say(never)}: never powered`);
  if (least !== undefined) {
    return ohms < least
      ? item("measured-bad", `${say(ohms)}, under the board's least of ${say(least)}`)
      : item("holds", `${say(ohms)}, the board's least is ${say(least)}`);
  }
  if (ohms < low)
    return item(
      "measured-bad",
      `${say(ohms)}, under ${say(low)}: powered only where the board file's coldOhmsMin says so`,
    );
  return item("holds", say(ohms));
}

/** A rail of much lower volts and under `below` ohms that reads the same to ground as the feed; `core` where no board file says what there is. */
function lowRailLike(
  ohms: number,
  below: number,
  feed: PlanFeed,
  board: BoardFile | null,
  cold: ColdReadings,
): { rail: string; railOhms: number } | undefined {
  const rails =
    board === null
      ? ["core"]
      : Object.entries(board.rails)
          .filter(([, rail]) => rail.signal !== true && rail.volts < feed.nominalVolts / 2)
          .map(([rail]) => rail);
  for (const rail of rails) {
    const railOhms = coldOhmsOf(cold, rail);
    if (railOhms !== null && railOhms < below && isSame(ohms, railOhms)) return { rail, railOhms };
  }
  return undefined;
}

/** Pairs that must be apart: the board file's, or each 12 V feed to core and memory. Pairs of feeds that stay off are left out. */
function pairsWanted(names: readonly string[], plan: Plan, board: BoardFile | null): string[] {
  const listed = Object.keys(board?.coldPairs ?? {});
  if (board !== null && listed.length > 0) {
    return listed.filter((pair) =>
      pair.split(":").every((end) => names.includes(end) || !Object.hasOwn(board.feeds, end)),
    );
  }
  const high = plan.feeds
    .filter((each) => each.nominalVolts >= 9)
    .flatMap((each) => [each.feed, ...(each.ganged ?? [])]);
  const rails =
    board === null ? ["core", "memory"] : Object.keys(board.rails).filter((rail) => /^(v?core|v?mem)/i.test(rail));
  return high.flatMap((feed) => rails.map((rail) => `${feed}:${rail}`));
}

function pairItem(pair: string, board: BoardFile | null, cold: ColdReadings): PermitFact {
  const [from = pair, to = ""] = pair.split(":");
  const ohms = coldOhmsOf(cold, pair) ?? (to === "memory" ? coldOhmsOf(cold, `${from}:mem`) : null);
  const item = (state: PermitItem["state"], evidence: string): PermitFact =>
    fact(`pair:${pair}`, from, `Ohms from ${from} to ${to}`, state, evidence, null);
  if (ohms === null) return item("not-done", "not measured");
  const own = coldOhmsOf(cold, to);
  const least = board?.coldPairs[pair] ?? LEAST_PAIR_OHMS;
  if (ohms < least && own !== null && isSame(ohms, own)) {
    return item(
      "measured-bad",
      `${say(ohms)}, equal to the ${say(own)} of ${to} itself: a shorted high side, never powered`,
    );
  }
  if (ohms < least)
    return item(
      "measured-bad",
      `${say(ohms)}, at least ${say(least)} are wanted: a shorted switch would put ${from} on ${to}`,
    );
  return item("holds", `${say(ohms)}, at least ${say(least)} are wanted`);
}

/**
 * A rail under half its least cold ohms is a short; under its least it is in doubt, and a person may still decide. One the
 * board wants read and that was not is not done.
 */
function railItems(board: BoardFile | null, cold: ColdReadings): { rail: string; item: PermitFact }[] {
  return Object.entries(board?.rails ?? {}).flatMap(([rail, { coldOhms, coldMandatory }]) => {
    const ohms = coldOhmsOf(cold, rail);
    const item = (state: PermitItem["state"], evidence: string) => [
      { rail, item: fact(`rail:${rail}`, null, `Cold ohms of rail ${rail}`, state, evidence, null) },
    ];
    if (ohms === null) return coldMandatory === true ? item("not-done", "not measured; the board file wants it") : [];
    if (coldOhms === undefined) return [];
    const [least] = coldOhms;
    if (ohms < least / 2) {
      const note = `under half its least of ${say(least)}: a short, only low-voltage work is allowed`;
      return item("measured-bad", `${say(ohms)}, ${note}`);
    }
    return ohms < least
      ? item("unknown", `${say(ohms)}, under its least of ${say(least)}: suspect`)
      : item("holds", say(ohms));
  });
}

export const isSame = (a: number, b: number): boolean =>
  Math.abs(a - b) <= Math.max(SAME_SHARE * Math.max(a, b), LEAD_RESIDUE_OHMS);

const say = (ohms: number): string => (ohms >= OPEN_OHMS ? "open" : sayOhms(ohms));
