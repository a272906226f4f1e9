import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "../record/job-options.ts";

/** `board import`: shows what another shop knows of a kind of board, and takes it in. */
export function boardImportCommand(): Command {
  return jobSubcommand("import", "show what another shop's file holds, and take it in on a yes")
    .argument("<file>", "the file that `board export` wrote")
    .option("--yes", "take it in without a question; without it and without a terminal the file is only shown")
    .action(async (file: string, options: JobOptions & { yes?: boolean }) => {
      const [{ importKnowledge }, { printDocument, say }] = await Promise.all([
        import("./import-knowledge.ts"),
        import("../text/people.ts"),
      ]);
      const result = await importKnowledge(file, options);
      if (options.json) printDocument(result);
      else if (result.done === "same") say("It was taken in before, the very same.");
      else if (result.done === "shown") say("Nothing was taken in. With --yes it is.");
      else {
        say(`Taken in under ${result.id}, in ${result.folder}; its board file and photographs are there too.`);
        if (result.replaced.length > 0) say("It stands for what the same shop gave before.");
      }
    });
}
