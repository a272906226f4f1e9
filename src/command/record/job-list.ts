import type { Command } from "commander";
import type { JobSummary } from "../../../shared/job.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job list`: every job, newest first. */
export function jobListCommand(): Command {
  return jobSubcommand("list", "list the jobs, newest first")
    .option("--csv", "print a table for a spreadsheet (RFC 4180)")
    .action(async (options: JobOptions & { csv?: boolean }) => {
      const [{ lookingAtRecord }, { printDocument }, { jobsCsv, jobLine }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
        import("../text/job-text.ts"),
      ]);
      const jobs = await lookingAtRecord<JobSummary[]>(
        options.data,
        (store) => store.list(),
        () => [],
      );
      if (options.json) printDocument({ jobs });
      else if (options.csv) process.stdout.write(jobsCsv(jobs));
      else process.stdout.write(jobs.length === 0 ? "No jobs yet.\n" : jobs.map((job) => `${jobLine(job)}\n`).join(""));
    });
}
