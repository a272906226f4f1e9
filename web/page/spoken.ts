import { CLASS_WORDS } from "../../shared/class-words.ts";
import type { PageState } from "./page-state.ts";

/** The words that a screen reader is told of a run as it goes on; empty where there is nothing to say. */
export function spoken({ run, verdict }: PageState): string {
  if (verdict !== null) return `Verdict: ${CLASS_WORDS[verdict.verdict.class]}`;
  if (run?.outcome?.trip != null) return `Cut: ${run.outcome.trip.because}`;
  return run === null || run.outcome !== null ? "" : `${run.stage} ${run.feed ?? ""}: ${run.waitingFor}`;
}
