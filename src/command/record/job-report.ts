import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job report`: the report for the owner of the board. */
export function jobReportCommand(): Command {
  return jobSubcommand("report", "write the report for the owner of the board: HTML, one page and an appendix")
    .argument("<job>", "the job")
    .requiredOption("--out <file>", "file to write; an earlier report is replaced, no other file is")
    .action(async (job: string, options: JobOptions & { out: string }) => {
      const [{ writeJobReport }, { printDocument, say }] = await Promise.all([
        import("./write-job-report.ts"),
        import("../text/people.ts"),
      ]);
      const written = await writeJobReport(options.data, job, options.out);
      if (options.json) printDocument(written);
      else
        say(
          `Report written to ${options.out}.${written.filed ? "" : " It is not noted in the record, because another firstamp has the record open."}`,
        );
    });
}
