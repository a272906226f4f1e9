import type { JobQuery } from "../../job/find/find-jobs.ts";
import { lookForJobs } from "../../job/find/look-for-jobs.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { jobLine, jobsCsv } from "../text/job-line.ts";
import { printAsIs, printDocument, say } from "../text/people.ts";
import type { JobOptions } from "./job-options.ts";

export interface ListOptions extends JobOptions, Omit<JobQuery, "words" | "most" | "state"> {
  csv?: boolean;
  find?: string;
  open?: boolean;
  done?: boolean;
  most?: number;
}

/** Prints the jobs that are asked for; lines and documents have the `usual` number of them where none is asked, a table has all. */
export async function printJobs(
  { data, json, csv, find, open, done, most, ...query }: ListOptions,
  usual: number,
): Promise<void> {
  const asked: JobQuery = {
    ...query,
    most: most ?? (csv ? Number.POSITIVE_INFINITY : usual),
    ...(find === undefined ? {} : { words: find }),
    ...(open === done ? {} : { state: open === true ? "open" : "done" }),
  };
  const { jobs, more } = (await lookForJobs(dataDirectory(data), ({ search }) => search(asked))) ?? {
    jobs: [],
    more: false,
  };
  const last = jobs.at(-1)?.job;
  const none = Object.keys(asked).length > 1 ? "No jobs match.\n" : "No jobs yet.\n";
  if (json) printDocument(more ? { jobs, next: last } : { jobs });
  else if (csv) printAsIs(jobsCsv(jobs));
  else printAsIs(jobs.length === 0 ? none : jobs.map((job) => `${jobLine(job)}\n`).join(""));
  if (more && !json) say(`There are more: add --after ${last}, or --most with a larger number.`);
}
