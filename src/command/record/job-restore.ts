import type { Command } from "commander";
import { counted } from "../../../shared/words/counted.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job restore`: puts a copy of the record back, with what can still be read of the one it replaces. */
export function jobRestoreCommand(): Command {
  return jobSubcommand("restore", "restore a copy that `job backup` made, and add what can still be read of the record")
    .argument("<copy>", "the file or folder that `job backup` wrote")
    .addHelpText(
      "after",
      `
What was filed after the copy was made is read from the record that is there, as far as that can be read, and added. What was
there before is kept in a folder put-aside-… of the data directory. Until the last step the record stays as it is.`,
    )
    .action(async (copy: string, options: JobOptions) => {
      const [{ restoreRecord }, { dataDirectory }, { print, printDocument, say }] = await Promise.all([
        import("../../job/restore/restore-record.ts"),
        import("../input/data-directory.ts"),
        import("../text/people.ts"),
      ]);
      const done = await restoreRecord(dataDirectory(options.data), copy);
      if (options.json) {
        printDocument(done);
        return;
      }
      print(`Restored: ${done.fromCopy} events of the copy, and ${done.salvaged} more that could still be read here.`);
      if (done.lost > 0)
        print(`${done.lost} events could not be read and are in neither; others may be lost without a trace.`);
      if (done.files.length > 0)
        print(`${counted(done.files.length, "capture or attachment was", "captures and attachments were")} restored.`);
      for (const each of done.troubles) print(`  ${each}`);
      say(`The previous record is in ${done.aside}. "firstamp job check" reads and checks the restored one.`);
    });
}
