import type { StoredEvent } from "../../../shared/record/job.ts";
import type { RunEnd, RunHeader } from "../../../shared/record/run-record.ts";
import { endedBy } from "../../../shared/words/nothing-learned.ts";
import { eventsOf } from "./current-events.ts";

/** A run of a job; `end` is null where it never ended, because its process died or it is on now. */
export interface JobRun {
  header: RunHeader;
  end: RunEnd | null;
}

/** The runs of a job in the order they began. */
export function runsOf(log: readonly StoredEvent[]): JobRun[] {
  const ends = new Map(eventsOf(log, "run-ended").map(({ end }) => [end.run, end]));
  return eventsOf(log, "run-started").map(({ header }) => ({ header, end: ends.get(header.run) ?? null }));
}

/** A run that ended and was judged: not one that the bench or a person ended. */
export interface JudgedRun {
  header: RunHeader;
  end: RunEnd & { verdict: NonNullable<RunEnd["verdict"]> };
}

/** Records made before `endedBy` was told may hold a verdict on a run that the bench or a person ended. */
const isJudged = (run: JobRun): run is JudgedRun =>
  run.end !== null && run.end.verdict !== null && (run.header.plan.keepOn || endedBy(run.end.outcome) === null);

/** The runs with a verdict on the draw, in the order they began. */
export const judgedRuns = (log: readonly StoredEvent[]): JudgedRun[] => runsOf(log).filter(isJudged);
