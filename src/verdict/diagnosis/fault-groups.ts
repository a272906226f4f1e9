import type { Hypothesis } from "./hypotheses.ts";

/** Hypotheses with the same elements and kinds: one line of the answer. */
export interface FaultGroup {
  element: string;
  kind: string;
  also: { element: string; kind: string }[];
  /** Indices of the hypotheses, likeliest first. */
  members: number[];
  probability: number;
}

/** The part that failed and the way it failed, in words, and what failed beside it. */
function lineOf(hypothesis: Hypothesis): { key: string; also: FaultGroup["also"] } {
  const also = hypothesis.faults
    .slice(1)
    .filter((fault) => fault.element !== hypothesis.element && fault.feed !== hypothesis.element)
    .map(({ element, kind }) => ({ element, kind }));
  return { key: [hypothesis, ...also].map(({ element, kind }) => `${element} ${kind}`).join(" + "), also };
}

const known = new WeakMap<readonly Hypothesis[], number[]>();

/** Which line of the answer each hypothesis belongs to, counted from zero; worked out once for a list. */
export function answerLines(hypotheses: readonly Hypothesis[]): number[] {
  const found = known.get(hypotheses);
  if (found !== undefined) return found;
  const keys = hypotheses.map((hypothesis) => lineOf(hypothesis).key);
  const numbers = new Map([...new Set(keys)].map((key, index) => [key, index]));
  const lines = keys.map((key) => numbers.get(key) ?? 0);
  known.set(hypotheses, lines);
  return lines;
}

/** Groups hypotheses by what failed and how, likeliest first. A fuse that took its short with it counts as the open fuse. */
export function faultGroups(hypotheses: readonly Hypothesis[], belief: readonly number[]): FaultGroup[] {
  const groups = new Map<string, FaultGroup>();
  hypotheses.forEach((hypothesis, index) => {
    const { key, also } = lineOf(hypothesis);
    const group = groups.get(key) ?? {
      element: hypothesis.element,
      kind: hypothesis.kind,
      also,
      members: [],
      probability: 0,
    };
    group.members.push(index);
    group.probability += belief[index] ?? 0;
    groups.set(key, group);
  });
  const list = [...groups.values()];
  for (const group of list) group.members.sort((a, b) => (belief[b] ?? 0) - (belief[a] ?? 0));
  return list.sort((a, b) => b.probability - a.probability || a.element.localeCompare(b.element));
}
