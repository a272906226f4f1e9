import type { StoredEvent } from "../../../shared/job.ts";
import type { RunEnd, RunHeader } from "../../../shared/run-record.ts";
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

/** A run that ended and was judged. */
export interface JudgedRun {
  header: RunHeader;
  end: RunEnd & { verdict: NonNullable<RunEnd["verdict"]> };
}

const isJudged = (run: JobRun): run is JudgedRun => run.end !== null && run.end.verdict !== null;

/** The runs with a verdict on the draw, in the order they began. */
export const judgedRuns = (log: readonly StoredEvent[]): JudgedRun[] => runsOf(log).filter(isJudged);
