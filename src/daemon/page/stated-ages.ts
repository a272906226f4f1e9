import type { StoredEvent } from "../../../shared/record/job.ts";
import type { RunRequest, Statement } from "../../../shared/wire-request.ts";
import { AHEAD_MS } from "../../job/known/filed-cold.ts";
import { currentEvents } from "../../job/store/current-events.ts";

/** The events that make a statement about the board's surroundings one of the past. */
const SINCE = new Map([
  ["repair", "a repair was filed"],
  ["run-ended", "a run of this job ended"],
]);

/** The ages of a request's statements, milliseconds, or why one of them does not count any more, as a sentence. */
export type StatedAges = { ages: Partial<Record<Statement, number>> } | { because: string };

/**
 * The age of each statement of a request, by the times it was made at. A statement that was made for another job, or before
 * the job's last repair or the end of its last run, counts no more. Statements without a time have no age.
 */
export function statedAges(request: RunRequest, log: readonly StoredEvent[], nowMs: number): StatedAges {
  const ages: Partial<Record<Statement, number>> = {};
  const last = currentEvents(log).findLast(({ event }) => SINCE.has(event.kind));
  for (const [name, said] of Object.entries(request.stated ?? {}) as [
    Statement,
    { at: string; job: string | null },
  ][]) {
    if (said.job !== request.job) return { because: `"${name}" was stated for another job. State it again.` };
    if (Date.parse(said.at) > nowMs + AHEAD_MS)
      return { because: `"${name}" is dated later than now: a clock was changed. State it again.` };
    if (last !== undefined && Date.parse(last.recordedAt) > nowMs + AHEAD_MS)
      return {
        because: `The clock of this machine is behind the last entry of the job (${last.recordedAt}), so one of them is wrong: set it right, then state "${name}" again.`,
      };
    if (last !== undefined && Date.parse(said.at) < Date.parse(last.recordedAt))
      return {
        because: `"${name}" was stated before ${SINCE.get(last.event.kind) ?? "the last change"}. State it again.`,
      };
    ages[name] = Math.max(0, nowMs - Date.parse(said.at));
  }
  return { ages };
}
