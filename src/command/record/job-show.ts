import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job show`: one job with everything filed in it. */
export function jobShowCommand(): Command {
  return jobSubcommand("show", "show a job and everything filed in it")
    .argument("<job>", "the job")
    .action(async (job: string, options: JobOptions) => {
      const [{ lookingAtRecord }, { printAsIs, printDocument }, { jobText }, { stagesOf }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
        import("../text/job-text.ts"),
        import("../../job/known/stages-of.ts"),
      ]);
      const record = await lookingAtRecord(options.data, async (store) => await store.show(await store.findJob(job)));
      const stages = stagesOf(record.log, Date.now());
      if (options.json) printDocument({ ...record, stages });
      else printAsIs(jobText(record, stages));
    });
}
