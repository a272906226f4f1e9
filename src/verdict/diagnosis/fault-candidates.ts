import type { FaultCandidate } from "../../../shared/record/diagnosis.ts";
import { chipProofs, PROOFS_ASKED } from "./chip-proofs.ts";
import type { Evidence } from "./evidence.ts";
import { explainGroup } from "./explain.ts";
import type { FaultGroup } from "./fault-groups.ts";
import type { Hypothesis } from "./hypotheses.ts";
import type { DiagnosisModel } from "./model.ts";
import { rounded } from "./rounded.ts";

/** Faults under this probability are left out, but never the first three. */
const LEAST_PROBABILITY = 0.005;

/**
 * The lines of the answer, likeliest first. A line that condemns nothing but a chip does not lead before it has its two
 * proofs, and a chip as a cause stands behind the others until then.
 */
export function faultCandidates(
  groups: readonly FaultGroup[],
  model: DiagnosisModel,
  belief: readonly number[],
  evidence: readonly Evidence[],
): FaultCandidate[] {
  const { hypotheses } = model;
  const isChip = (index: number): boolean => hypotheses[index]?.isChip === true;
  // A shorted rail is a rail's fault, whatever the cause; a line that says "chip" condemns one.
  const isNothingButChip = (index: number): boolean =>
    hypotheses[index]?.faults.every((fault) => fault.row.chip && fault.point === null) === true;
  const shown = groups.filter((group, rank) => rank < 3 || group.probability >= LEAST_PROBABILITY);
  const list = shown.map((group): FaultCandidate & { isUnproven: boolean } => {
    const chips = group.members.filter(isChip);
    const proofs = chips.length === 0 ? null : chipProofs(chips, belief, evidence, isChip);
    const causes = group.members.map((index) => ({
      hypothesis: hypotheses[index] as Hypothesis,
      probability: belief[index] ?? 0,
    }));
    const isUnproven = proofs !== null && proofs < PROOFS_ASKED;
    // Behind what is no chip: advice must not begin with the part that cannot be bought back.
    if (isUnproven)
      causes.sort((a, b) => Number(a.hypothesis.isChip) - Number(b.hypothesis.isChip) || b.probability - a.probability);
    else causes.sort((a, b) => (isTie(a, b) ? Number(a.hypothesis.isChip) - Number(b.hypothesis.isChip) : 0));
    const because = explainGroup(group, hypotheses, belief, evidence, causes[0]?.hypothesis.what ?? "unknown");
    if (isUnproven) because.push(chipSentence(proofs));
    if (group.members.some((index) => hypotheses[index]?.isShort))
      because.push("Power must not reach it: find it with the board unpowered or by injection at low volts.");
    return {
      element: group.element,
      kind: group.kind,
      probability: rounded(group.probability, 6),
      because,
      causes: causes
        .filter(({ probability }, rank) => rank === 0 || probability >= 0.001)
        .map(({ hypothesis, probability }) => ({
          fault: hypothesis.faults.map((fault) => fault.row.id).join("+"),
          what: hypothesis.what,
          probability: rounded(probability, 6),
        })),
      also: group.also,
      chipProofs: proofs,
      isUnproven: isUnproven && group.members.every(isNothingButChip),
    };
  });
  // If a fault is no likelier than none at all, "no fault" is said first.
  const none = list.findIndex((each) => each.kind === "no-fault");
  const [likeliest] = list;
  if (none > 0 && likeliest !== undefined && isTie(likeliest, list[none] ?? likeliest))
    list.unshift(...list.splice(none, 1));
  const lead = list.findIndex((each) => !each.isUnproven);
  if (lead > 0) list.unshift(...list.splice(lead, 1));
  return list.map(({ isUnproven: _, ...candidate }) => candidate);
}

/** Causes this near to each other are a tie: then the one that is no chip leads. */
const TIE_SHARE = 0.05;

const isTie = (a: { probability: number }, b: { probability: number }): boolean =>
  Math.abs(a.probability - b.probability) <= TIE_SHARE * Math.max(a.probability, b.probability);

const chipSentence = (proofs: number): string =>
  `A chip is replaced only after two independent proofs, of which there ${proofs === 1 ? "is one" : "are none"} so far. First show that everything around it is in order.`;
