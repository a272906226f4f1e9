import type { WireJobSheet } from "../../shared/wire-job.ts";
import type { PageState } from "../page/page-state.ts";

/** The job from intake to hand-back; the page is laid out along it. */
export const STEPS = [
  { step: "intake", name: "Intake" },
  { step: "cold", name: "Cold" },
  { step: "permit", name: "Permit" },
  { step: "power-up", name: "Power-up" },
  { step: "verdict", name: "Verdict" },
  { step: "sweep", name: "Sweep" },
  { step: "next", name: "Next" },
  { step: "repair", name: "Repair" },
  { step: "again", name: "Again" },
  { step: "report", name: "Report" },
] as const;
export type Step = (typeof STEPS)[number]["step"];

/** `now` is where the job is: a run that is on, otherwise the step after the last one that was done. */
export type StepMark = "done" | "now" | "open";

const isOn = (state: PageState): boolean => state.run !== null && state.run.outcome === null;
const isSweeping = (state: PageState): boolean => state.sweep !== null && state.sweep.done === null;

/** What is done of the job as its record has it, and where it is now. */
export function stepMarks(state: PageState, sheet: WireJobSheet | null): Map<Step, StepMark> {
  const events = sheet?.events ?? [];
  const lastOf = (kind: string): number => events.findLast((each) => each.kind === kind)?.seq ?? 0;
  const repaired = lastOf("repair");
  const ended = lastOf("run-ended");
  const judged = sheet?.runs.some((run) => run.verdict !== null) ?? false;
  const done: Record<Step, boolean> = {
    intake: sheet !== null,
    // Rework makes cold readings stale.
    cold: lastOf("cold-readings") > repaired,
    permit: lastOf("run-started") > 0,
    "power-up": ended > 0,
    verdict: judged,
    sweep: lastOf("sweep-ended") > repaired,
    next: repaired > 0,
    repair: repaired > 0,
    again: repaired > 0 && ended > repaired,
    report: lastOf("report-made") > Math.max(ended, repaired),
  };
  const furthest = STEPS.findLastIndex(({ step }) => done[step] && step !== "report");
  const now = isSweeping(state) ? "sweep" : isOn(state) ? "power-up" : STEPS[furthest + 1]?.step;
  return new Map(STEPS.map(({ step }) => [step, step === now ? "now" : done[step] ? "done" : "open"]));
}

/** The step a page opens on. */
export function openingStep(state: PageState): Step {
  if (isSweeping(state)) return "sweep";
  if (isOn(state)) return "power-up";
  return state.run === null ? "intake" : "verdict";
}

/** The step a page turns to because of what it was told since; null: it stays where the person is. */
export function stepTurnedTo(before: PageState, after: PageState): Step | null {
  if (isSweeping(after) && before.sweep?.sweep !== after.sweep?.sweep) return "sweep";
  if (isSweeping(before) && after.sweep?.done != null) return "next";
  // A sweep's own power-ups turn nothing: the person looks at the rails.
  if (isSweeping(after)) return null;
  if (isOn(after) && before.run?.run !== after.run?.run) return "power-up";
  if (isOn(before) && after.run?.run === before.run?.run && after.run?.outcome != null) return "verdict";
  return null;
}
