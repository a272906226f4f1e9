import { classHeadline } from "../views/parts/draw-words.ts";
import { stageName } from "../views/parts/stage-words.ts";
import { say } from "../words/verdict.ts";
import type { PageState } from "./page-state.ts";

/** The words that a screen reader is told of a run as it goes on; empty where there is nothing to say. */
export function spoken({ run, verdict }: PageState): string {
  if (verdict !== null) return say("spoken.verdict", { words: classHeadline(verdict.verdict.class) });
  if (run?.outcome?.trip != null) return say("spoken.cut", { because: run.outcome.trip.because });
  return run === null || run.outcome !== null ? "" : `${stageName(run.stage)} ${run.feed ?? ""}: ${run.waitingFor}`;
}
