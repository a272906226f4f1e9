import type { Evidence } from "./evidence.ts";
import type { FaultGroup } from "./fault-groups.ts";
import type { Hypothesis } from "./hypotheses.ts";
import type { Measurement } from "./measurements.ts";

const SHOWN_FOR = 4;
const SHOWN_AGAINST = 2;
/** A reading counts for or against from this ratio on. */
const NOTABLE = 1.5;

const percent = (share: number): string => {
  const value = share * 100;
  return value >= 99.95
    ? "100 %"
    : value >= 9.95
      ? `${value.toFixed(0)} %`
      : value >= 0.095
        ? `${value.toFixed(1)} %`
        : "under 0.1 %";
};

/** "1v8 dead", "aux open" and the like. */
export const nameOf = (fault: { element: string; kind: string }): string => `${fault.element} ${fault.kind}`;

/** Sentences on why a group of hypotheses stands where it does: its likeliest cause, the readings for it, those against it, where it began. */
export function explainGroup(
  group: FaultGroup,
  hypotheses: readonly Hypothesis[],
  belief: readonly number[],
  evidence: readonly Evidence[],
  likeliest: string,
): string[] {
  const weighed = evidence.map((each) => ({ each, ...ratioOf(each, group.members, belief) }));
  const pro = weighed.filter(({ ratio }) => ratio >= NOTABLE).sort((a, b) => b.ratio - a.ratio);
  const contra = weighed.filter(({ ratio }) => ratio <= 1 / NOTABLE).sort((a, b) => a.ratio - b.ratio);
  const sentence = (lead: string, { each, inside, outside }: (typeof weighed)[number]): string =>
    `${lead} ${each.text} (expected in ${percent(inside)} of boards with this fault, in ${percent(outside)} of boards with another fault).`;
  const prior = group.members.reduce((sum, index) => sum + (hypotheses[index]?.prior ?? 0), 0);
  const sentences = [
    `Likeliest cause: ${likeliest}.`,
    ...pro.slice(0, SHOWN_FOR).map((each) => sentence("Supports it:", each)),
    ...contra.slice(0, SHOWN_AGAINST).map((each) => sentence("Speaks against it:", each)),
  ];
  if (pro.length === 0) sentences.push("No reading favours it over other faults; its rank is that of common practice.");
  sentences.push(`Before any reading its probability was ${percent(prior)}.`);
  return sentences;
}

/** The chance of a reading within a group and outside of it, each weighed by the belief without that reading. */
function ratioOf(
  evidence: Evidence,
  members: readonly number[],
  belief: readonly number[],
): { ratio: number; inside: number; outside: number } {
  const within = new Set(members);
  const sums = { inside: 0, insideShare: 0, outside: 0, outsideShare: 0 };
  belief.forEach((share, index) => {
    const likelihood = evidence.likelihood[index] ?? 0;
    if (likelihood <= 0) return;
    const before = share / likelihood;
    if (within.has(index)) {
      sums.inside += share;
      sums.insideShare += before;
    } else {
      sums.outside += share;
      sums.outsideShare += before;
    }
  });
  const inside = sums.insideShare > 0 ? sums.inside / sums.insideShare : 0;
  const outside = sums.outsideShare > 0 ? sums.outside / sums.outsideShare : 0;
  return { ratio: outside > 0 ? inside / outside : inside > 0 ? Number.POSITIVE_INFINITY : 1, inside, outside };
}

/** Why a measurement is worth taking: the two leading faults it tells apart, and what each should give. */
export function explainNext(
  measurement: Measurement,
  dropBits: number,
  groups: readonly FaultGroup[],
  belief: readonly number[],
): string {
  const expected = groups.slice(0, 8).map((group) => {
    const shares = measurement.outcomes.map((_, outcome) =>
      group.members.reduce((sum, index) => sum + (belief[index] ?? 0) * (measurement.chance[index]?.[outcome] ?? 0), 0),
    );
    const best = shares.indexOf(Math.max(...shares));
    return {
      group,
      answer: measurement.outcomes[best] ?? "unknown",
      share: group.probability > 0 ? (shares[best] ?? 0) / group.probability : 0,
    };
  });
  const [lead] = expected;
  const other = expected.find((each) => each.answer !== lead?.answer);
  const cost = `${measurement.minutes} min${measurement.risk > 0 ? `, risk ${measurement.risk}` : ""}`;
  const gain = `${dropBits.toFixed(2)} bits for ${cost}`;
  if (lead === undefined) return `${gain}.`;
  const said = (each: (typeof expected)[number]): string =>
    `${nameOf(each.group)} (${percent(each.group.probability)}) should give "${each.answer}"`;
  return other === undefined
    ? `Confirms or weakens ${nameOf(lead.group)} (${percent(lead.group.probability)}), which should give "${lead.answer}": ${gain}.`
    : `Tells apart: ${said(lead)}, ${said(other)}: ${gain}.`;
}
