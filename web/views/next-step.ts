import { nothingLearned } from "../../shared/nothing-learned.ts";
import type { WireJobSheet } from "../../shared/wire-job.ts";
import type { PageState } from "../page/page-state.ts";
import type { Round } from "../record/rounds.ts";

const ONE_HAND = "Use one probe at a time. If there is smell, smoke or a spark: cut.";

/** What the steps go by beside what is on: the job that is open, with what its record has. */
export interface OpenJob {
  job: string | null;
  sheet: WireJobSheet | null;
  /** The last round of it. */
  round: Round | null;
}

/** What to do next, first things first: what stands in the way now, then what this job has not had yet. */
export function nextSteps(state: PageState, { job, sheet, round }: OpenJob): string[] {
  if (state.phase === "lost")
    return ["Hands off. Switch the supply off by its own switch.", "Then find out why the daemon does not answer."];
  if (state.alarm !== null) return ["Switch the supply off by its own switch. Then find out why it did not answer."];
  if (state.question !== null) return ["Answer the question; everything waits for it."];
  const { sweep } = state;
  if (sweep !== null && sweep.done === null) {
    if (sweep.place !== null) return [`Put the probe on ${sweep.place.rail}: ${sweep.place.point}.`, ONE_HAND];
    return sweep.cooling === null ? ["Keep the probe in the air."] : ["The board is off and cools. Wait."];
  }
  if (state.run !== null && state.run.outcome === null) {
    return state.verdict?.run === state.run.run
      ? ["The verdict is in, and the board stays on. Probe it now, or end in order.", ONE_HAND]
      : ["Hands on the probes, eyes on the board. If there is smell, smoke or a spark: cut."];
  }
  if (state.bench?.feeds.length === 0)
    return ["Look at the record, or write in it. To energise anything, start the daemon with a bench file."];
  if (sheet === null || round === null) return ["Open the job of the board in front of you, or a new one."];
  if (!round.kinds.has("cold-readings"))
    return [
      round.number === 1
        ? "Take cold readings of every feed and rail pair."
        : "The board was worked on: take the cold readings again.",
    ];
  const stale = Object.entries(sheet.cold).flatMap(([point, { expired }]) => (expired === null ? [] : [point]));
  if (stale.length > 0 && !round.kinds.has("run-ended"))
    return [`Take these cold readings again, because they no longer count: ${stale.join(", ")}.`];
  if (sweep?.done?.diagnosis != null && sweep.job === job) {
    const { held, next } = sweep.done.diagnosis;
    const [first] = next;
    return [...(held === null ? [] : [held]), first === undefined ? "No further measurement would help." : first.ask];
  }
  const outcome = state.run?.job === job ? (state.run.outcome ?? null) : null;
  const nothing = outcome === null ? null : nothingLearned(outcome);
  if (nothing !== null) return [nothing];
  if (state.verdict !== null && state.verdict.job === job && round.kinds.has("run-ended")) return state.verdict.next;
  if (outcome?.trip != null) return ["Read why it was cut. Change one thing, then prepare again."];
  return round.kinds.has("run-ended")
    ? ["Probe the rails: the draw alone does not prove that the board works."]
    : ["Check the polarity at the card end.", "Then check the permit and power it up."];
}
