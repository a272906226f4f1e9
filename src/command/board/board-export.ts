import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "../record/job-options.ts";

interface ExportOptions extends JobOptions {
  out: string;
  board?: string;
  shop?: string;
}

/** `board export`: what this record knows of a kind of board, in one file. */
export function boardExportCommand(): Command {
  return jobSubcommand("export", "write what is known of a kind of board to one file for another shop")
    .argument("<kind>", "the kind, as its board file names it")
    .requiredOption("--out <file>", "file to write; an existing file is never overwritten")
    .option("--board <file>", "the board file to give away, with its photographs (default: that of the last run)")
    .option("--shop <name>", "the name of this shop in the file, a-z, 0-9 and - (default: the one in shop.json)")
    .action(async (kind: string, options: ExportOptions) => {
      const [{ exportKnowledge }, { knowledgeLines }, { printDocument, say }] = await Promise.all([
        import("./export-knowledge.ts"),
        import("./knowledge-text.ts"),
        import("../text/people.ts"),
      ]);
      const { knowledge, done } = await exportKnowledge(kind, options);
      if (options.json) printDocument({ out: options.out, done, knowledge });
      else {
        for (const line of knowledgeLines(knowledge)) say(line);
        if (knowledge.files.length > 1)
          say("Look at the photographs before you give them away: a sticker may show a serial number.");
        say(done === "same" ? "The same file is there already." : `Written to ${options.out}.`);
      }
    });
}
