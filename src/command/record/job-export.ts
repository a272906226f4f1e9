import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job export`: the whole job in one file, or one of its captures as CSV. */
export function jobExportCommand(): Command {
  return jobSubcommand("export", "write a whole job to one file that another bench can import")
    .argument("<job>", "the job")
    .requiredOption("--out <file>", "file to write; an existing file is never overwritten")
    .option("--csv", "write the readings of the last run as CSV instead, as `classify` reads them")
    .action(async (job: string, options: JobOptions & { out: string; csv?: boolean }) => {
      const [{ lookingAtRecord }, { printDocument, say }, { exportJob }, { exportCaptureCsv }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
        import("../../job/archive/export-job.ts"),
        import("./export-capture-csv.ts"),
      ]);
      const document = await lookingAtRecord(options.data, async (store) => {
        const id = await store.findJob(job);
        if (!options.csv) return { job: id, out: options.out, done: await exportJob(store, id, options.out) };
        return { job: id, out: options.out, ...(await exportCaptureCsv(store, id, options.out)) };
      });
      if (options.json) printDocument(document);
      else say(document.done === "same" ? "The same file is there already." : `Written to ${options.out}.`);
    });
}
