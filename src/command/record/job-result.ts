import { type Command, InvalidArgumentError } from "commander";
import type { JobEventOf } from "../../../shared/record/job.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

type Result = JobEventOf<"result">["result"];
const RESULTS: readonly Result[] = ["passed", "failed", "returned"];

function resultOf(text: string): Result {
  const found = RESULTS.find((each) => each === text);
  if (found === undefined) throw new InvalidArgumentError(`It should be one of ${RESULTS.join(", ")}.`);
  return found;
}

/** `job result`: files what became of the board. */
export function jobResultCommand(): Command {
  return jobSubcommand("result", "file the result of the job: passed, failed or returned")
    .argument("<job>", "the job")
    .argument(
      "<result>",
      "passed: the draws since the last repair then count as those of a good board; failed or returned undoes this",
      resultOf,
    )
    .argument("[text...]", "a remark; several words are joined by spaces")
    .action(async (job: string, result: Result, text: string[], options: JobOptions) => {
      const [{ withRecord }, { printDocument, say }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
      ]);
      const filed = await withRecord(options.data, async (store) => {
        const id = await store.findJob(job);
        const words = text.length === 0 ? null : text.join(" ");
        const { id: event, seq } = await store.appendEvent(id, { kind: "result", result, text: words });
        return { job: id, event, seq, result };
      });
      if (options.json) printDocument(filed);
      else say(`Filed as entry ${filed.seq}.`);
    });
}
