import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job import`: takes in a job that another record exported. */
export function jobImportCommand(): Command {
  return jobSubcommand("import", "import a job that was exported elsewhere")
    .argument("<file>", "the exported file")
    .action(async (file: string, options: JobOptions) => {
      const [{ withRecord }, { printDocument, say }, { importJob }, { eventText }, { shortId }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
        import("../../job/archive/import-job.ts"),
        import("../../job/report/event-text.ts"),
        import("../../job/store/uuid-v7.ts"),
      ]);
      const done = await withRecord(options.data, (store) => importJob(store, file));
      if (options.json) printDocument(done);
      else
        say(
          done.done === "same"
            ? `Job ${shortId(done.job)} is here already, and identical; nothing was done.`
            : `Job ${shortId(done.job)} imported: ${eventText(done.came)}.`,
        );
    });
}
