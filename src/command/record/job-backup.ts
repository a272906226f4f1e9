import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job backup`: a checked copy of the database, also while another process writes to it. */
export function jobBackupCommand(): Command {
  return jobSubcommand("backup", "copy the record's database to one checked file; also works during a run")
    .requiredOption("--out <file>", "file to write; an existing file is never overwritten")
    .addHelpText(
      "after",
      `
The copy holds every job and event. Captures and attachments are separate files, in the folders "captures" and "attachments"
of the data directory: copy these folders too. To restore a copy, end every firstamp, replace firstamp.db by the copy, and
remove firstamp.db-wal and firstamp.db-shm.`,
    )
    .action(async (options: JobOptions & { out: string }) => {
      const [{ lookingAtRecord }, { printDocument, say }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
      ]);
      await lookingAtRecord(options.data, (store) => store.backup(options.out));
      if (options.json) printDocument({ out: options.out });
      else say(`Copied to ${options.out} and checked. Copy the folders "captures" and "attachments" too.`);
    });
}
