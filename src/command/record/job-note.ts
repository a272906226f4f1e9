import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job note`: files a note with a job. */
export function jobNoteCommand(): Command {
  return jobSubcommand("note", "file a note with a job")
    .argument("<job>", "the job")
    .argument("<text...>", "the note; several words are joined by spaces")
    .option("--repair", "the note says what was repaired: earlier cold readings no longer count")
    .action(async (job: string, text: string[], options: JobOptions & { repair?: true }) => {
      const [{ withRecord }, { printDocument, say }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
      ]);
      const filed = await withRecord(options.data, async (store) => {
        const id = await store.findJob(job);
        const { id: event, seq } = await store.appendEvent(
          id,
          options.repair === true
            ? { kind: "repair", text: text.join(" "), parts: [] }
            : { kind: "note", text: text.join(" ") },
        );
        return { job: id, event, seq };
      });
      if (options.json) printDocument(filed);
      else say(`Filed as entry ${filed.seq}.`);
    });
}
