import type { Permit, PermitItem } from "../../../shared/permit.ts";
import type { Plan } from "../../../shared/plan.ts";
import { sayAmps, sayVolts } from "../../../shared/words/amounts.ts";
import type { Waiver } from "./permit.ts";
import { benchItems } from "./permit-bench.ts";
import type { PermitEvidence } from "./permit-evidence.ts";
import { fact, type PermitFact } from "./permit-fact.ts";

/** The place of the leads, as a person states it: after the inductor (the rail's side), before it, or no inductor there. */
export type InjectionSide = "after" | "before" | "none";

export interface InjectionEvidence extends PermitEvidence {
  side: InjectionSide | null;
  /** The source of the cap, in words. */
  capBecause: string;
}

/** Statements that take a person one look, and without which current may flow where nobody meant it: never waived. */
const NEVER_WAIVED = new Set(["unplugged", "side", "polarity", "joined"]);

/**
 * The conditions of an injection: what the bench itself shows, of the other feeds of the bench too, and what only a person
 * can say. Every other feed unplugged, the side of the inductor and the polarity are never waived; a protection the supply
 * does not have, or an output that could not be read, is with a reason.
 */
export function evaluateInjection(plan: Plan, evidence: InjectionEvidence, waiver: Waiver | null): Permit {
  return strictPermit([...benchItems(plan, evidence), capItem(plan, evidence), ...statements(plan, evidence)], waiver);
}

/** The conditions under which the leads of a feed are measured: the bench's own, and the ends joined with no board on them. */
export function evaluateLeads(
  plan: Plan,
  evidence: PermitEvidence & { joined: boolean; capBecause: string },
  waiver: Waiver | null,
): Permit {
  const joined = said(
    "joined",
    "Both lead ends joined at the card end, no board on them",
    evidence.joined ? true : null,
    "joined, as a person states",
    "--joined",
  );
  return strictPermit([...benchItems(plan, evidence), capItem(plan, evidence), joined], waiver);
}

function strictPermit(facts: readonly PermitFact[], waiver: Waiver | null): Permit {
  const judged = facts.map(({ mayStayUnknown: _, ...item }) => {
    const waivable = (item.state === "not-done" || item.state === "unknown") && !NEVER_WAIVED.has(item.id);
    const covered = waiver !== null && waivable && (waiver.items === null || waiver.items.includes(item.id));
    const full: PermitItem = { ...item, waived: covered ? { reason: waiver.reason } : null };
    return { item: full, passes: item.state === "holds" || covered };
  });
  const refused = judged.filter((each) => !each.passes).map(({ item }) => sentence(item));
  return { granted: refused.length === 0, items: judged.map((each) => each.item), refusedBecause: refused };
}

function capItem({ inject, feeds }: Plan, { capBecause }: { capBecause: string }): PermitFact {
  const feed = feeds[0]?.feed ?? "";
  const { rail = "", capVolts = 0, levelsAmps = [] } = inject ?? {};
  return fact(
    "cap",
    feed,
    `Cap of ${rail}`,
    "holds",
    `${sayVolts(capVolts)}, ${capBecause}; ${levelsAmps.map(sayAmps).join(", ")} in turn`,
  );
}

function statements({ inject, feeds }: Plan, { conditions, side, found }: InjectionEvidence): PermitFact[] {
  const used = feeds[0]?.feed ?? "";
  const { pairsUnplugged, polarityChecked } = conditions;
  const live = found.filter(
    (each) => each.feed !== used && (each.output !== "off" || Math.abs(each.volts ?? 0) >= 0.3),
  );
  return [
    live.length > 0
      ? fact(
          "unplugged",
          null,
          "Every other feed unplugged",
          "measured-bad",
          `${live.map((each) => `${each.feed} is ${each.output} at ${each.volts === null ? "unknown volts" : sayVolts(each.volts)}`).join(", ")}`,
        )
      : said(
          "unplugged",
          "Every other feed unplugged",
          pairsUnplugged,
          "unplugged, as a person states",
          "--checked unplugged",
        ),
    side === null
      ? fact(
          "side",
          null,
          `Side of the inductor of ${inject?.rail ?? ""}`,
          "not-done",
          "not stated: give --side after, before or none",
        )
      : fact("side", null, `Side of the inductor of ${inject?.rail ?? ""}`, "holds", SIDE_WORDS[side]),
    said(
      "polarity",
      "Polarity of the leads on the rail",
      polarityChecked,
      "checked, as a person states",
      "--checked polarity",
    ),
  ];
}

const SIDE_WORDS: Readonly<Record<InjectionSide, string>> = {
  after: "after the inductor, on the side of the rail",
  before: "before the inductor, on the side of the power stage",
  none: "there is no inductor",
};

const said = (id: string, asks: string, state: boolean | null, yes: string, how: string): PermitFact =>
  state === true ? fact(id, null, asks, "holds", yes) : fact(id, null, asks, "not-done", `not stated: ${how}`);

const sentence = (item: PermitItem): string => {
  const may = NEVER_WAIVED.has(item.id) ? "it only needs a look and is never waived" : "it can be waived with a reason";
  return `${item.asks}: ${item.evidence} (${item.state === "measured-bad" ? "measured, and never waived" : may})`;
};
