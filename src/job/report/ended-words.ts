import type { RunOutcome } from "../../../shared/plan.ts";
import type { SweepEnding } from "../../../shared/sweep.ts";

/** How a run ended, in a line of text. */
export const ENDED_WORDS: Record<RunOutcome["ended"], string> = {
  "as-planned": "ended as planned",
  "board-stopped": "cut because of the board",
  failed: "ended by the bench",
  "stopped-by-person": "stopped by hand",
};

/** How a sweep ended, in a line of text. */
export const SWEEP_ENDED_WORDS: Record<SweepEnding, string> = {
  "all-visited": "every point was visited",
  stopped: "stopped by hand",
  cut: "cut by hand",
  "board-stopped": "cut because of the board",
  failed: "ended by the bench",
};
