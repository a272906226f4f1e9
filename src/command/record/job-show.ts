import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job show`: one job with everything filed in it. */
export function jobShowCommand(): Command {
  return jobSubcommand("show", "show a job and everything filed in it")
    .argument("<job>", "the job")
    .action(async (job: string, options: JobOptions) => {
      const [{ lookingAtRecord }, { printAsIs, printDocument }, { jobText }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
        import("../text/job-text.ts"),
      ]);
      const record = await lookingAtRecord(options.data, async (store) => await store.show(await store.findJob(job)));
      if (options.json) printDocument(record);
      else printAsIs(jobText(record));
    });
}
