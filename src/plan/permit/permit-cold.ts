import type { FiledColdReadings } from "../../../shared/cold-evidence.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import type { Plan } from "../../../shared/plan.ts";
import { coldPairsWanted, judgeColdFeed, judgeColdPair, judgeColdRail } from "../../analysis/cold-judgement.ts";
import { coldOhmsOf, readingAt } from "../../analysis/cold-readings.ts";
import type { PermitEvidence } from "./permit-evidence.ts";
import { fact, type PermitFact } from "./permit-fact.ts";

/** Cold ohms of each feed, of each pair that must be apart, of each rail the board wants read, and of each that was. */
export function coldItems(plan: Plan, board: BoardFile | null, evidence: ColdEvidence): PermitFact[] {
  const cold: ColdReadings = { ...ohmsOf(evidence.coldFiled ?? {}), ...evidence.coldOhms };
  const feeds = plan.feeds.flatMap(({ feed, ganged, nominalVolts }) =>
    [feed, ...(ganged ?? [])].map((name) => ({ feed: name, nominalVolts })),
  );
  return [
    ...feeds.map((each) => {
      const { state, evidence: found } = judgeColdFeed(each, board, cold);
      return aged(each.feed, fact(`cold:${each.feed}`, each.feed, `Cold ohms of ${each.feed}`, state, found), evidence);
    }),
    ...coldPairsWanted(feeds, board).map((pair) => {
      const [from = pair, to = ""] = pair.split(":");
      const { state, evidence: found } = judgeColdPair(pair, board, cold);
      return aged(pair, fact(`pair:${pair}`, from, `Ohms from ${from} to ${to}`, state, found), evidence);
    }),
    ...(board === null ? [] : Object.keys(board.rails)).flatMap((rail) => {
      const judged = board === null ? null : judgeColdRail(rail, board, cold, isFourWire(rail, evidence));
      if (judged === null) return [];
      const item = fact(`rail:${rail}`, null, `Cold ohms of rail ${rail}`, judged.state, judged.evidence);
      return [aged(rail, judged.byNameOnly === true ? { ...item, byNameOnly: true } : item, evidence)];
    }),
  ];
}

/** Cold readings as the permit looks at them: those handed in now, and those of the job, with their age. */
export type ColdEvidence = Pick<PermitEvidence, "coldOhms" | "coldFourWire" | "coldAgeMs" | "coldFiled">;

const isFourWire = (point: string, { coldOhms, coldFourWire = [], coldFiled = {} }: ColdEvidence): boolean =>
  coldOhmsOf(coldOhms, point) === null
    ? (readingAt(coldFiled, point)?.fourWire ?? false)
    : coldFourWire.includes(point);

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
