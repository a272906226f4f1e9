import { type Command, InvalidArgumentError } from "commander";
import { jobSubcommand } from "./job-options.ts";
import type { ListOptions } from "./print-jobs.ts";

/** Lines of a list where no number is asked for. */
const MOST = 50;

function countOf(text: string): number {
  const count = Number(text);
  if (!Number.isInteger(count) || count < 1) throw new InvalidArgumentError("It should be a number, 1 or more.");
  return count;
}

function dateOf(text: string): string {
  const date = /^\d{4}-\d{2}-\d{2}/.test(text) ? new Date(text) : new Date(Number.NaN);
  if (Number.isNaN(date.getTime())) throw new InvalidArgumentError("It should be a date such as 2026-11-25.");
  return date.toISOString();
}

/** `job list`: the jobs, newest first, or those of them that are looked for. */
export function jobListCommand(): Command {
  return jobSubcommand("list", "list the jobs, newest first, or search for jobs")
    .option("--find <words>", "words that all appear in the job, or begin a word of it")
    .option("--owner <name>", "part of the owner's name")
    .option("--serial <number>", "part of the board's serial number")
    .option("--board <kind>", "part of the name of the board's kind")
    .option("--class <class>", "class of the last draw")
    .option("--fault <words>", "part of the likeliest fault")
    .option("--part <name>", "part of the name of a replaced part")
    .option("--result <result>", "the last result: passed, failed or returned")
    .option("--stage <stage>", "the stage it is in")
    .option("--since <date>", "opened on this day or later (UTC)", dateOf)
    .option("--open", "only open jobs")
    .option("--done", "only finished jobs")
    .option("--most <n>", `most lines to print (${MOST}; a table has all)`, countOf)
    .option("--after <job>", "continue after this job, given as a whole id")
    .option("--csv", "print a table for a spreadsheet (RFC 4180)")
    .action(async (options: ListOptions) => {
      // One part holds all that looks into the record: each further part takes as long as the search itself.
      const { printJobs } = await import("./print-jobs.ts");
      await printJobs(options, MOST);
    });
}
