import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job new`: opens a job and prints its id. */
export function jobNewCommand(): Command {
  return jobSubcommand("new", "open a job")
    .option("--title <text>", "title of the job, such as the owner's number for it")
    .option("--board <name>", "kind of board")
    .option("--comeback-of <job>", "the earlier job of the same board, if the board came back")
    .action(async (options: JobOptions & { title?: string; board?: string; comebackOf?: string }) => {
      const [{ withRecord }, { printAsIs, printDocument }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
      ]);
      const { title, board, comebackOf } = options;
      const job = await withRecord(options.data, async (store) =>
        store.newJob({
          ...(title === undefined ? {} : { title }),
          ...(board === undefined ? {} : { board }),
          ...(comebackOf === undefined ? {} : { comebackOf: await store.findJob(comebackOf) }),
        }),
      );
      if (options.json) printDocument({ job });
      else printAsIs(`${job}\n`);
    });
}
