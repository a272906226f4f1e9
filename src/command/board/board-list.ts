import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "../record/job-options.ts";

/** `board list`: what was taken in from other shops. */
export function boardListCommand(): Command {
  return jobSubcommand("list", "list what was imported from other shops").action(async (options: JobOptions) => {
    const [{ knownElsewhere }, { dataDirectory }, { knowledgeLines }, { print, printDocument }] = await Promise.all([
      import("../../job/board/known-elsewhere.ts"),
      import("../input/data-directory.ts"),
      import("./knowledge-text.ts"),
      import("../text/people.ts"),
    ]);
    const taken = await knownElsewhere(dataDirectory(options.data));
    if (options.json) printDocument({ boards: taken });
    else if (taken.length === 0) print("Nothing was imported yet.");
    else
      for (const { id, folder, knowledge } of taken) {
        const [head, ...lines] = knowledgeLines(knowledge);
        for (const line of [`${id}  ${head}`, `  ${folder}`, ...lines]) print(line);
      }
  });
}
