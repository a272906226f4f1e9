import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job compare`: how two runs differ, and whether that is beyond what the meters can be wrong by. */
export function jobCompareCommand(): Command {
  return jobSubcommand(
    "compare",
    "compare the last runs of two jobs, or two captures; one job given twice: its first and last run",
  )
    .argument("<a>", "a job or a capture")
    .argument("<b>", "a job or a capture")
    .action(async (a: string, b: string, options: JobOptions) => {
      const [
        { lookingAtRecord },
        { printAsIs, printDocument },
        { compareInRecord },
        { comparisonText },
        { learnedForRun },
        { learnedLines },
      ] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
        import("../../job/known/compare-in-record.ts"),
        import("../text/comparison-text.ts"),
        import("../../job/known/learned-for-run.ts"),
        import("../text/learned-text.ts"),
      ]);
      const { compared, learned } = await lookingAtRecord(options.data, async (store) => {
        const both = await compareInRecord(store, a, b);
        return { compared: both, learned: await learnedForRun(store, both.b) };
      });
      if (options.json) printDocument({ ...compared, learned });
      else {
        const lines = learned === null ? [] : learnedLines(learned.board, learned.values);
        printAsIs(comparisonText(compared) + lines.map((line) => `${line}\n`).join(""));
      }
    });
}
