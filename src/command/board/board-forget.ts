import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "../record/job-options.ts";

/** `board forget`: removes what was taken in. */
export function boardForgetCommand(): Command {
  return jobSubcommand(
    "forget",
    "remove what was imported from another shop; runs that were judged with it stay unchanged",
  )
    .argument("<id>", "the id that `board list` shows")
    .action(async (id: string, options: JobOptions) => {
      const [{ forgetBoard }, { dataDirectory }, { printDocument, say }] = await Promise.all([
        import("../../job/board/known-elsewhere.ts"),
        import("../input/data-directory.ts"),
        import("../text/people.ts"),
      ]);
      const { knowledge } = await forgetBoard(dataDirectory(options.data), id);
      if (options.json) printDocument({ forgotten: id });
      else say(`What ${knowledge.shop} gave about ${JSON.stringify(knowledge.kind)} no longer counts.`);
    });
}
