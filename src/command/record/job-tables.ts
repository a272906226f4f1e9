import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job tables`: the record's tables as CSV. */
export function jobTablesCommand(): Command {
  return jobSubcommand("tables", "write every table of the record as CSV (RFC 4180) into a folder")
    .requiredOption("--out <folder>", "folder to make; it may not exist yet")
    .addHelpText(
      "after",
      `
A line of job_event.csv holds an event as JSON in "body"; job_fact.csv has what jobs are found by, draw.csv the figures of each
judged draw. Readings: "job export JOB --csv".`,
    )
    .action(async (options: JobOptions & { out: string }) => {
      const [{ writeTables }, { dataDirectory }, { printDocument, say }] = await Promise.all([
        import("../../job/restore/write-tables.ts"),
        import("../input/data-directory.ts"),
        import("../text/people.ts"),
      ]);
      const tables = await writeTables(dataDirectory(options.data), options.out);
      if (options.json) printDocument({ out: options.out, tables });
      else say(`Written to ${options.out}: ${tables.map(({ table, rows }) => `${table} (${rows})`).join(", ")}.`);
    });
}
