import type { BoardFile } from "../../shared/board-file.ts";
import type { ColdReadings, PermitItem } from "../../shared/permit.ts";
import type { Plan, PlanFeed } from "../../shared/plan.ts";
import { sayOhms } from "./amounts.ts";
import { coldOhmsOf, OPEN_OHMS } from "./cold-readings.ts";
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

/** Cold ohms of each feed, of each pair that must be apart, and of each rail that was read. */
export function coldItems(plan: Plan, board: BoardFile | null, cold: ColdReadings, ageMs: number | null): PermitFact[] {
  const named = plan.feeds.flatMap((each) => [each.feed, ...(each.ganged ?? [])].map((name) => ({ name, feed: each })));
  return [
    ...named.map(({ name, feed }) => feedItem(name, feed, board, cold, ageMs)),
    ...pairsWanted(
      named.map((each) => each.name),
      plan,
      board,
    ).map((pair) => pairItem(pair, board, cold, ageMs)),
    ...railItems(board, cold, ageMs),
  ];
}

function feedItem(
  name: string,
  feed: PlanFeed,
  board: BoardFile | null,
  cold: ColdReadings,
  ageMs: number | null,
): PermitFact {
  const asks = `Cold ohms of ${name}`;
  const ohms = coldOhmsOf(cold, name);
  const item = (state: PermitItem["state"], evidence: string): PermitFact =>
    fact(`cold:${name}`, name, asks, state, evidence, ohms === null ? null : ageMs);
  if (ohms === null) return item("not-done", "not measured");
  const { never, low } = COLD_LIMITS[feed.nominalVolts >= 9 ? "twelve" : feed.nominalVolts >= 4 ? "five" : "three"];
  const least = board?.feeds[name]?.coldOhmsMin;
  const core = coldOhmsOf(cold, "core");
  if (core !== null && core < never && isSame(ohms, core)) {
    return item(
      "measured-bad",
      `${say(ohms)}, as the core itself reads ${say(core)}: a shorted high side, 12 V would reach the core`,
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

function pairItem(pair: string, board: BoardFile | null, cold: ColdReadings, ageMs: number | null): PermitFact {
  const [from = pair, to = ""] = pair.split(":");
  const ohms = coldOhmsOf(cold, pair) ?? (to === "memory" ? coldOhmsOf(cold, `${from}:mem`) : null);
  const item = (state: PermitItem["state"], evidence: string): PermitFact =>
    fact(`pair:${pair}`, from, `Ohms from ${from} to ${to}`, state, evidence, ohms === null ? null : ageMs);
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

/** A rail under half its least cold ohms is a short; under its least it is in doubt, and a person may still decide. */
function railItems(board: BoardFile | null, cold: ColdReadings, ageMs: number | null): PermitFact[] {
  return Object.entries(board?.rails ?? {}).flatMap(([rail, { coldOhms }]): PermitFact[] => {
    const ohms = coldOhmsOf(cold, rail);
    if (ohms === null || coldOhms === undefined || board?.feeds[rail] !== undefined) return [];
    const [least] = coldOhms;
    const state = ohms < least / 2 ? "measured-bad" : ohms < least ? "unknown" : "holds";
    const note =
      state === "holds"
        ? ""
        : state === "unknown"
          ? `, under its least of ${say(least)}: suspect`
          : `, under half its least of ${say(least)}: a short, only low-voltage work is allowed`;
    return [fact(`rail:${rail}`, null, `Cold ohms of rail ${rail}`, state, `${say(ohms)}${note}`, ageMs)];
  });
}

const isSame = (a: number, b: number): boolean =>
  Math.abs(a - b) <= Math.max(SAME_SHARE * Math.max(a, b), LEAD_RESIDUE_OHMS);

const say = (ohms: number): string => (ohms >= OPEN_OHMS ? "open" : sayOhms(ohms));
