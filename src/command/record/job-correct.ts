import { type Command, InvalidArgumentError } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

interface CorrectOptions extends JobOptions {
  because: string;
  takeBack?: true;
}

function entryOf(text: string): number {
  const entry = Number(text);
  if (Number.isInteger(entry) && entry > 0) return entry;
  throw new InvalidArgumentError('It should be the number of an entry, as "job show" has it.');
}

/** `job correct`: says how an entry of a person should have read; both are kept. */
export function jobCorrectCommand(): Command {
  return jobSubcommand("correct", "say what an entry should have said; the entry and its correction are both kept")
    .argument("<job>", "the job")
    .argument("<entry>", 'the number of the entry, as "job show" has it', entryOf)
    .argument("[text...]", "what it should say: the text, the answer, of a test pass, fail or done")
    .requiredOption("--because <why>", "why: misread, mistyped, wrong point")
    .option("--take-back", "an answer: it counts as not answered, and is asked again")
    .addHelpText(
      "after",
      `
Notes, repairs, titles, captions, answers and tests can be corrected. A cold reading is taken again, and a result is filed
again: the last one counts. What the bench recorded stands as it was.

Examples:
  firstamp job correct 4f2a 17 none --because "the warm spot was the lamp"
  firstamp job correct 4f2a 17 --take-back --because "wrong rail"`,
    )
    .action(async (job: string, entry: number, text: string[], options: CorrectOptions) => {
      const { correctEntry } = await import("./correct-entry.ts");
      await correctEntry({ job, entry, words: text.join(" ").trim() }, options);
    });
}
