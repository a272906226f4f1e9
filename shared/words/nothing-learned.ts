import type { DrawVerdict } from "../draw-verdict.ts";
import type { EndedBy, RunOutcome, TripRule } from "../plan.ts";

/**
 * The answer of a run about the board. `class` is null, with no candidates, where the bench or a person ended it: its figures
 * were read anyway, but they say nothing of the board.
 */
export type RunVerdict = Omit<DrawVerdict, "class"> & { class: DrawVerdict["class"] | null };

/** True where a run has a verdict on the board. */
export const isVerdict = (verdict: RunVerdict): verdict is DrawVerdict => verdict.class !== null;

/** Ends that a person made at the bench, though no stop was asked for. */
const BY_HAND: ReadonlySet<TripRule> = new Set(["front-panel", "operator"]);

/**
 * The one who ended a run that is therefore no verdict on the board: the bench (instruments, cables, computer) or a person. null
 * where the board ended it, or the plan did, at its end or at its longest on-time.
 */
export function endedBy({ ended, trip }: Pick<RunOutcome, "ended" | "trip">): EndedBy | null {
  if (ended === "stopped-by-person") return "person";
  if (ended !== "failed" || trip?.rule === "on-time") return null;
  return trip !== null && BY_HAND.has(trip.rule) ? "person" : "bench";
}

/** The thing that a person does before such a run is tried again. */
export type BeforeAgain = "computer" | "stale" | "cable" | "outside" | "panel" | "ready" | "again";

const TO_DO: Partial<Record<TripRule, BeforeAgain>> = {
  "lease-lost": "computer",
  "guardian-lost": "computer",
  "clock-gap": "computer",
  stale: "stale",
  "link-lost": "cable",
  silent: "cable",
  "command-failed": "cable",
  residual: "outside",
  "back-feed": "outside",
  "front-panel": "panel",
};

const WORDS: Record<BeforeAgain, string> = {
  computer: "close other programs on this computer and try again",
  stale: "close other programs on this computer, check the cable, and try again",
  cable: "check the cable and the supply, then try again",
  outside: "remove what else feeds the board, then try again",
  panel: "do not touch the supply's panel, and try again",
  ready: "start the run again when you are ready",
  again: "try again",
};

/** The thing to do about a run that the bench or a person ended; null where the run has a verdict. */
export function nothingLearnedFor(outcome: Pick<RunOutcome, "trip" | "endedBy">): BeforeAgain | null {
  if (outcome.endedBy === undefined) return null;
  const rule = outcome.trip?.rule;
  const known = rule === undefined ? undefined : TO_DO[rule];
  return known ?? (outcome.endedBy === "person" ? "ready" : "again");
}

/** The one sentence about a run that the bench or a person ended, with what to do; null where the run has a verdict. */
export function nothingLearned(outcome: Pick<RunOutcome, "trip" | "endedBy">): string | null {
  const what = nothingLearnedFor(outcome);
  return what === null ? null : `Nothing was learned about the board; ${WORDS[what]}.`;
}
