import type { Candidate, DrawClass, OverloadKind } from "../../shared/draw-verdict.ts";

/** The finding of a rule: a class, how likely, its rivals and the sentences it rests on. */
export interface Finding {
  class: DrawClass;
  sub?: OverloadKind;
  /** Of the class itself; 0 for `cannot-tell`, whose candidates are all in `rivals`. */
  probability: number;
  rivals: Candidate[];
  because: string[];
  /** The feed that decided, where one did. */
  feed?: string;
  shortOhms?: number;
  /** Its standard uncertainty. */
  shortOhmsU?: number;
  /** The study that calibrates probabilities had no such boards, so they stand as they are. */
  outsideStudy?: boolean;
}

/** The candidates of a finding, likeliest first, their probabilities rounded and never above one together. */
export function candidatesOf(finding: Finding): Candidate[] {
  const all: Candidate[] =
    finding.class === "cannot-tell" ? [] : [{ class: finding.class, probability: finding.probability }];
  for (const rival of finding.rivals) {
    // An undecided finding names two, however unlikely the second.
    const counts = rival.probability >= 0.005 || (finding.class === "cannot-tell" && all.length < 2);
    if (counts && !all.some((each) => each.class === rival.class)) all.push(rival);
  }
  const total = all.reduce((sum, { probability }) => sum + probability, 0);
  const scale = total > 1 ? 0.999 / total : 1;
  const rounded = all.map((each) => ({
    class: each.class,
    probability: Math.floor(each.probability * scale * 1000) / 1000,
  }));
  const [first, ...rest] = rounded;
  if (finding.class === "cannot-tell" || first === undefined)
    return rounded.sort((a, b) => b.probability - a.probability);
  return [first, ...rest.sort((a, b) => b.probability - a.probability)];
}

/** Candidates with those of one class added up to one, in the order they first come. */
export function addedUp(list: readonly Candidate[]): Candidate[] {
  const sums = new Map<DrawClass, number>();
  for (const each of list) sums.set(each.class, (sums.get(each.class) ?? 0) + each.probability);
  return [...sums].map(([name, probability]) => ({ class: name, probability }));
}
