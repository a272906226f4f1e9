import type { Command } from "commander";
import { counted } from "../../../shared/words/counted.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job backup`: a checked copy of the record, also while another process writes to it. */
export function jobBackupCommand(): Command {
  return jobSubcommand("backup", "copy the record to a checked file or folder; also works during a run")
    .requiredOption("--out <path>", "file to write, or folder with --files; it may not exist yet")
    .option("--files", "make a folder that also holds the captures and attachments")
    .addHelpText(
      "after",
      `
Without --files the copy holds every job and event. Captures and attachments are separate files, in the folders "captures" and
"attachments" of the data directory. "job restore" puts a copy back.`,
    )
    .action(async (options: JobOptions & { out: string; files?: boolean }) => {
      const [{ lookingAtRecord }, { printDocument, say }, { backUpRecord }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
        import("../../job/restore/back-up-record.ts"),
      ]);
      const isWhole = options.files === true;
      const files = await lookingAtRecord(options.data, async (store) => {
        if (isWhole) return await backUpRecord(store, options.out);
        await store.backup(options.out);
        return null;
      });
      if (options.json) printDocument({ out: options.out, ...(files === null ? {} : { files }) });
      else if (files === null)
        say(`Copied to ${options.out} and checked. Copy the folders "captures" and "attachments" too, or use --files.`);
      else say(`Copied to ${options.out} with ${counted(files, "file")}, the database checked.`);
    });
}
