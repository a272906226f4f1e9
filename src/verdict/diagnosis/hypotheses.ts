import type { FaultData } from "../../../shared/files/fault-data.ts";
import { normalised } from "./belief.ts";
import type { PlacedFault } from "./place-faults.ts";

/** A possible state of the board: one fault, or two that came together. */
export interface Hypothesis {
  /** Fault ids and elements: "F16 1v8", "F01 aux + F04 aux". */
  id: string;
  faults: readonly PlacedFault[];
  element: string;
  kind: string;
  what: string;
  /** Share among all hypotheses before any reading. */
  prior: number;
  isShort: boolean;
  isChip: boolean;
}

/** Kinds of a second fault that can burn a fuse: a short on the plane behind it. */
const burnsFuse = (fault: PlacedFault): boolean =>
  fault.row.short && (fault.point === fault.feed || fault.row.cold["in"] !== undefined);

/**
 * Every hypothesis with its prior: each placed fault, an open fuse with each short that can have burnt it, and the pairs of
 * the fault data. `weights` are those of the placed faults, in their order.
 */
export function hypothesesOf(
  placed: readonly PlacedFault[],
  weights: readonly number[],
  data: FaultData,
): Hypothesis[] {
  const drafts: { faults: PlacedFault[]; weight: number }[] = [];
  placed.forEach((fault, index) => {
    let left = weights[index] ?? 0;
    const partners: { second: PlacedFault; weight: number }[] = [];
    if (fault.row.opens && fault.row.shortBehind > 0) {
      const behind = placed.map((second, at) => ({ second, weight: weights[at] ?? 0 }));
      const causes = behind.filter(({ second }) => second.feed === fault.feed && burnsFuse(second));
      const total = causes.reduce((sum, each) => sum + each.weight, 0);
      for (const each of causes) {
        partners.push({ second: each.second, weight: (left * fault.row.shortBehind * each.weight) / total });
      }
    }
    for (const pair of data.pairs.filter((each) => each.first === fault.row.id)) {
      const seconds = placed.filter((second) => second.row.id === pair.second);
      for (const second of seconds) partners.push({ second, weight: (left * pair.share) / seconds.length });
    }
    for (const partner of partners) {
      left -= partner.weight;
      drafts.push({ faults: [fault, partner.second], weight: partner.weight });
    }
    drafts.push({ faults: [fault], weight: Math.max(0, left) });
  });
  const priors = normalised(drafts.map((draft) => draft.weight));
  return drafts.map(({ faults }, index) => hypothesisOf(faults, priors[index] ?? 0));
}

/** Two faults that have nothing to do with each other, as one hypothesis. */
export function hypothesisOf(faults: readonly PlacedFault[], prior: number): Hypothesis {
  const [first] = faults;
  return {
    id: faults.map((fault) => `${fault.row.id} ${fault.element}`).join(" + "),
    faults,
    element: first?.element ?? "board",
    kind: first?.kind ?? "unknown",
    what: faults.map((fault) => fault.row.what).join(", and with it: "),
    prior,
    isShort: faults.some((fault) => fault.row.short),
    isChip: faults.some((fault) => fault.row.chip),
  };
}
