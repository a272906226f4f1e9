import type { DrawInput, DrawTrace } from "../../shared/draw-input.ts";
import { type Attempt, attemptOf } from "./attempt.ts";
import { type FeedView, feedViewOf } from "./feed-view.ts";
import { type Look, lookOf } from "./look.ts";
import { type PhaseRun, phaseRunsOf } from "./phase-runs.ts";
import type { VerdictLimits } from "./verdict-limits.ts";

/** All that one feed showed: its looks at low voltage and its attempts at nominal, in order. */
export interface FeedFigures {
  view: FeedView;
  /** Every stretch with the output on, in order. */
  runs: PhaseRun[];
  looks: Look[];
  attempts: Attempt[];
}

export function feedFiguresOf(
  trace: DrawTrace,
  input: Pick<DrawInput, "board" | "limitAmps">,
  limits: VerdictLimits,
): FeedFigures {
  const view = feedViewOf(trace, input, limits);
  const runs = phaseRunsOf(view);
  return {
    view,
    runs,
    looks: runs
      .filter(({ phase }) => phase !== "nominal")
      .map((run) => lookOf(view, run))
      .filter(({ volts, amps }) => Number.isFinite(volts) && Number.isFinite(amps)),
    attempts: runs.filter(({ phase }) => phase === "nominal").map((run) => attemptOf(view, run)),
  };
}

/** The settled looks of the touch, or all of them where none settled. */
export function touchesOf({ looks }: FeedFigures): Look[] {
  const touches = looks.filter(({ phase }) => phase === "touch");
  const settled = touches.filter((look) => look.settled);
  return settled.length > 0 ? settled : touches;
}

/** True where a touch settled without a current that a healthy input does not draw, and none ended with one. */
export function touchedClean({ looks }: FeedFigures): boolean {
  const touches = looks.filter(({ phase }) => phase === "touch");
  const conducts = (look: Look) => look.conducts && look.ohms < 1000;
  return (
    touches.some((look) => look.settled && !conducts(look)) &&
    !touches.some((look) => conducts(look) && look.readings >= 3)
  );
}
