import type { JobSummary } from "../../../shared/record/job.ts";
import { benchOf, parseStamp } from "../store/stamp.ts";
import { shortId } from "../store/uuid-v7.ts";
import { isDone, lastValue } from "./current-facts.ts";
import type { FoundJob } from "./find-jobs.ts";

/** The summary of a job's events without reading them. */
export interface JobCounts {
  events: number;
  /** The latest wall clock any of them was filed by. */
  lastEventAt: string;
}

/** One line about a job, from what its events say today. */
export function jobSummary({ id, created_at, facts }: FoundJob, { events, lastEventAt }: JobCounts): JobSummary {
  const said = (field: "title" | "board"): string | null => {
    const typed = facts.get(field)?.findLast((fact) => fact.said !== null)?.said;
    return typed == null ? null : (JSON.parse(typed) as string);
  };
  const opened = parseStamp(facts.get("opened")?.[0]?.stamp ?? "");
  return {
    job: id,
    short: shortId(id),
    title: said("title"),
    board: said("board"),
    createdAt: created_at,
    events,
    runs: facts.get("run")?.length ?? 0,
    lastEventAt,
    lastClass: lastValue(facts, "class"),
    result: lastValue(facts, "result"),
    stage: lastValue(facts, "stage"),
    state: isDone(facts) ? "done" : "open",
    bench: opened === null ? null : benchOf(opened.origin),
  };
}
