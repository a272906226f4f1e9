import type { PermitEvidence } from "./permit-evidence.ts";
import { fact, type PermitFact } from "./permit-fact.ts";

/** The conditions that only a person can state: polarity, returns, sense pins, fans, cooler, host. One that is not stated stays unknown, and on record. */
export function surroundingItems({ conditions, statedAgeMs = {} }: PermitEvidence): PermitFact[] {
  const { polarityChecked, commonReturn, sidebandStrapped, fans, host, cooler } = conditions;
  return [
    statement(
      "polarity",
      "Polarity at the card end of the leads",
      polarityChecked,
      "checked",
      "stated: not checked",
      statedAgeMs.polarityChecked,
    ),
    statement(
      "common-return",
      "All returns joined (their drop under load shows 20 mΩ at most)",
      commonReturn,
      "joined",
      "stated: not joined",
      statedAgeMs.commonReturn,
    ),
    statement(
      "sideband",
      "Sense or sideband pins strapped as a cable would do it",
      sidebandStrapped,
      "strapped, or there are none",
      "stated: not strapped",
      statedAgeMs.sidebandStrapped,
    ),
    choice("fans", "Fans", fans, "fans were not stated as connected or not"),
    choice("cooler", "Cooler", cooler, "the cooler was not stated, so bare is assumed"),
    choice("host", "Host", host, "a host was not stated as attached or not"),
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
  if (said === null) return { ...fact(id, null, asks, "unknown", "not stated"), mayStayUnknown: true };
  return fact(id, null, asks, said ? "holds" : "not-done", said ? `${yes}, as a person states` : no, ageMs);
}

const choice = (id: string, asks: string, said: string, unsaid: string): PermitFact =>
  said === "unknown"
    ? { ...fact(id, null, asks, "unknown", unsaid), mayStayUnknown: true }
    : fact(id, null, asks, "holds", said);
