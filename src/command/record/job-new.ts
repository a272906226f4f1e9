import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job new`: opens a job and prints its id. */
export function jobNewCommand(): Command {
  return jobSubcommand("new", "open a job")
    .option("--title <text>", "what to call it, such as the owner's number for it")
    .option("--board <name>", "kind of board")
    .action(async (options: JobOptions & { title?: string; board?: string }) => {
      const [{ withRecord }, { printDocument }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
      ]);
      const { title, board } = options;
      const job = await withRecord(options.data, (store) =>
        store.newJob({ ...(title === undefined ? {} : { title }), ...(board === undefined ? {} : { board }) }),
      );
      if (options.json) printDocument({ job });
      else process.stdout.write(`${job}\n`);
    });
}
