import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { Permit, PermitItem } from "../../../shared/permit.ts";
import type { Plan } from "../../../shared/plan.ts";
import { benchItems } from "./permit-bench.ts";
import { coldItems } from "./permit-cold.ts";
import type { PermitEvidence } from "./permit-evidence.ts";
import type { PermitFact } from "./permit-fact.ts";
import { surroundingItems } from "./permit-surroundings.ts";

/** A person's reason, and the items it is for; `items` null: all that were not done. */
export interface Waiver {
  reason: string;
  items: readonly string[] | null;
}

/**
 * The conditions of a first power-up, each with its evidence. Granted when each one holds, was waived, or is a statement
 * that may stay unknown (host, fans, cooler, polarity, return, sideband: it then widens the verdict and is on record). A
 * waiver reaches what was not done or is not known, item by item, and never what was measured bad.
 */
export function evaluatePermit(
  plan: Plan,
  board: BoardFile | null,
  evidence: PermitEvidence,
  waiver: Waiver | null,
): Permit {
  const facts: PermitFact[] = [
    ...benchItems(plan, evidence),
    ...coldItems(plan, board, evidence),
    ...surroundingItems(evidence),
  ];
  const judged = facts.map(({ mayStayUnknown, byNameOnly, ...item }) => {
    const waivable = item.state === "not-done" || item.state === "unknown";
    const covered =
      waiver !== null && waivable && (waiver.items === null ? byNameOnly !== true : waiver.items.includes(item.id));
    const full: PermitItem = { ...item, waived: covered ? { reason: waiver.reason } : null };
    const passes = item.state === "holds" || covered || (mayStayUnknown === true && item.state === "unknown");
    return { item: full, passes, byNameOnly };
  });
  const refused = judged.filter((each) => !each.passes).map((each) => sentence(each.item, each.byNameOnly === true));
  return { granted: refused.length === 0, items: judged.map((each) => each.item), refusedBecause: refused };
}

const STATE_WORDS: Readonly<Record<PermitItem["state"], string>> = {
  holds: "holds",
  "not-done": "not done; it can be waived with a reason",
  unknown: "not known; it can be waived with a reason",
  "measured-bad": "measured, and it forbids power; never waived",
};

const sentence = (item: PermitItem, byNameOnly: boolean): string =>
  `${item.asks}: ${item.evidence} (${byNameOnly ? "not decided; a waiver must name it" : STATE_WORDS[item.state]})`;
