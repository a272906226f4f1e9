import type { Kysely } from "kysely";
import type { JobSummary } from "../../../shared/record/job.ts";
import type { JobTables } from "../database/job-tables.ts";
import type { RecordDatabase } from "../database/record-database.ts";
import type { JobStore } from "../store/job-store.ts";
import { type FoundJob, findJobs } from "./find-jobs.ts";
import { jobSummary } from "./job-summary.ts";

export interface JobLister extends Pick<JobStore, "list" | "search"> {
  linesOf(jobs: readonly FoundJob[]): Promise<JobSummary[]>;
}

/** Jobs whose lines are made at once. */
const PAGE = 500;

/** Lists of jobs, made of what is derived from events; no event is read, and no schema of one is needed. */
export function jobLister(db: Kysely<JobTables>, database: RecordDatabase): JobLister {
  const countsOf = (jobs: readonly FoundJob[]) =>
    db
      .selectFrom("job_event")
      .where(
        "job",
        "in",
        jobs.map((job) => job.id),
      )
      .groupBy("job")
      .select((each) => [
        "job",
        each.fn.count<number>("id").as("events"),
        each.fn.max<string>("recorded_at").as("lastEventAt"),
      ])
      .execute();

  const linesOf: JobLister["linesOf"] = async (jobs) => {
    const lines: JobSummary[] = [];
    for (let from = 0; from < jobs.length; from += PAGE) {
      const page = jobs.slice(from, from + PAGE);
      const counts = new Map((await countsOf(page)).map((each) => [each.job, each]));
      for (const job of page) {
        const { events = 0, lastEventAt = job.created_at } = counts.get(job.id) ?? {};
        lines.push(jobSummary(job, { events: Number(events), lastEventAt }));
      }
    }
    return lines;
  };

  const search: JobLister["search"] = async (query) => {
    const { jobs, more } = await findJobs(db, database, query);
    return { jobs: await linesOf(jobs), more };
  };

  return {
    linesOf,
    search,
    async list(newest = Number.POSITIVE_INFINITY) {
      return (await search({ most: newest })).jobs;
    },
  };
}
