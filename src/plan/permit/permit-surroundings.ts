import type { PermitEvidence } from "./permit-evidence.ts";
import { fact, type PermitFact } from "./permit-fact.ts";

/** What only a person can say: polarity, returns, sense pins, fans, cooler, host. Not said stays unknown, and on record. */
export function surroundingItems({ conditions, statedAgeMs = {} }: PermitEvidence): PermitFact[] {
  const { polarityChecked, commonReturn, sidebandStrapped, fans, host, cooler } = conditions;
  return [
    statement(
      "polarity",
      "Polarity at the card end of the leads",
      polarityChecked,
      "checked",
      "said not to be checked",
      statedAgeMs.polarityChecked,
    ),
    statement(
      "common-return",
      "All returns joined, 20 mΩ at most by their drop under load",
      commonReturn,
      "joined",
      "said not to be joined",
      statedAgeMs.commonReturn,
    ),
    statement(
      "sideband",
      "Sense or sideband pins strapped as a cable would",
      sidebandStrapped,
      "strapped or none there",
      "said not to be strapped",
      statedAgeMs.sidebandStrapped,
    ),
    choice("fans", "Fans", fans, "whether fans are connected was not said"),
    choice("cooler", "Cooler", cooler, "what cools the chip was not said; it counts as bare"),
    choice("host", "Host", host, "whether a host is attached was not said"),
  ];
}

function statement(
  id: string,
  asks: string,
  said: boolean | null,
  yes: string,
  no: string,
  ageMs: number | null = null,
): PermitFact {
  if (said === null) return { ...fact(id, null, asks, "unknown", "not said"), mayStayUnknown: true };
  return fact(id, null, asks, said ? "holds" : "not-done", said ? `${yes}, a person says` : no, ageMs);
}

const choice = (id: string, asks: string, said: string, unsaid: string): PermitFact =>
  said === "unknown"
    ? { ...fact(id, null, asks, "unknown", unsaid), mayStayUnknown: true }
    : fact(id, null, asks, "holds", said);
