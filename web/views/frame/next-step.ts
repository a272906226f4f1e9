import type { WireJobSheet } from "../../../shared/wire-job.ts";
import type { PageState } from "../../page/page-state.ts";
import type { Round } from "../../record/rounds.ts";
import { say } from "../../words/shell.ts";
import { nothingSentence } from "../parts/draw-words.ts";

const oneHand = (): string => say("next.one-hand");

/** The facts that the steps go by beside what is on: the job that is open, with what its record has. */
export interface OpenJob {
  job: string | null;
  sheet: WireJobSheet | null;
  /** The last round of it. */
  round: Round | null;
}

/** The next steps, first things first: what stands in the way now, then what this job has not had yet. */
export function nextSteps(state: PageState, { job, sheet, round }: OpenJob): string[] {
  if (state.phase === "lost") return [say("next.lost"), say("next.lost.then")];
  if (state.alarm !== null) return [say("next.alarm")];
  if (state.question !== null) return [say("next.question")];
  const { sweep } = state;
  if (sweep !== null && sweep.done === null) {
    if (sweep.place !== null)
      return [say("next.probe", { rail: sweep.place.rail, point: sweep.place.point }), oneHand()];
    return sweep.cooling === null ? [say("next.air")] : [say("next.cools")];
  }
  if (state.run !== null && state.run.outcome === null) {
    return state.verdict?.run === state.run.run ? [say("next.stays-on"), oneHand()] : [say("next.watch")];
  }
  if (state.bench?.feeds.length === 0) return [say("next.no-bench")];
  if (sheet === null || round === null) return [say("next.open")];
  if (!round.kinds.has("cold-readings")) return [round.number === 1 ? say("next.cold") : say("next.cold-again")];
  const stale = Object.entries(sheet.cold).flatMap(([point, { expired }]) => (expired === null ? [] : [point]));
  if (stale.length > 0 && !round.kinds.has("run-ended")) return [say("next.stale", { points: stale.join(", ") })];
  if (sweep?.done?.diagnosis != null && sweep.job === job) {
    const { held, next } = sweep.done.diagnosis;
    const [first] = next;
    return [...(held === null ? [] : [held]), first === undefined ? say("next.no-more") : first.ask];
  }
  const outcome = state.run?.job === job ? (state.run.outcome ?? null) : null;
  const nothing = outcome === null ? null : nothingSentence(outcome);
  if (nothing !== null) return [nothing];
  if (state.verdict !== null && state.verdict.job === job && round.kinds.has("run-ended")) return state.verdict.next;
  if (outcome?.trip != null) return [say("next.tripped")];
  return round.kinds.has("run-ended") ? [say("next.rails")] : [say("next.polarity"), say("next.permit")];
}
