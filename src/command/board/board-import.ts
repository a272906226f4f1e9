import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "../record/job-options.ts";

/** `board import`: shows what another shop knows of a kind of board, and takes it in. */
export function boardImportCommand(): Command {
  return jobSubcommand("import", "show what another shop's file holds, and import it after your yes")
    .argument("<file>", "the file that `board export` wrote")
    .option("--yes", "import it without a question; without this and without a terminal the file is only shown")
    .action(async (file: string, options: JobOptions & { yes?: boolean }) => {
      const [{ importKnowledge }, { printDocument, say }] = await Promise.all([
        import("./import-knowledge.ts"),
        import("../text/people.ts"),
      ]);
      const result = await importKnowledge(file, options);
      if (options.json) printDocument(result);
      else if (result.done === "same") say("It was imported before, and is identical.");
      else if (result.done === "shown") say("Nothing was imported. Add --yes to import it.");
      else {
        say(`Imported as ${result.id}, in ${result.folder}; its board file and photographs are there too.`);
        if (result.replaced.length > 0) say("It replaces what the same shop gave before.");
      }
    });
}
