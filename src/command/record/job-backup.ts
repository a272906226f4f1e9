import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job backup`: a checked copy of the database, also while another process writes to it. */
export function jobBackupCommand(): Command {
  return jobSubcommand("backup", "copy the record's database to one file, checked; also while a run is on")
    .requiredOption("--out <file>", "file to write; one that is there already is never overwritten")
    .addHelpText(
      "after",
      `
The copy holds every job and event. Captures and attachments are files beside the database, in "captures" and
"attachments" of the data directory: copy these folders too. To put a copy back, end every firstamp, then put it in the
place of firstamp.db and remove firstamp.db-wal and firstamp.db-shm.`,
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
