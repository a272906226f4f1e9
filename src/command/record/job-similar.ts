import { type Command, InvalidArgumentError } from "commander";
import { classInWords } from "../../../shared/words/class-words.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

const MOST = 10;

function countOf(text: string): number {
  const count = Number(text);
  if (!Number.isInteger(count) || count < 1 || count > 1000)
    throw new InvalidArgumentError("It should be a number from 1 to 1000.");
  return count;
}

/** `job similar`: the draws of other runs that are most like a job's last one. */
export function jobSimilarCommand(): Command {
  return jobSubcommand("similar", "find the draws most similar to the last one of a job, most similar first")
    .argument("<job>", "the job")
    .option("--most <n>", "most lines to print", countOf, MOST)
    .action(async (job: string, options: JobOptions & { most: number }) => {
      const [{ lookingAtRecord }, { printAsIs, printDocument }, { BenchError }, { judgedRuns }, { shortId }] =
        await Promise.all([
          import("./with-record.ts"),
          import("../text/people.ts"),
          import("../../../shared/bench-error.ts"),
          import("../../job/store/runs-of.ts"),
          import("../../job/store/uuid-v7.ts"),
        ]);
      const found = await lookingAtRecord(options.data, async (store) => {
        const id = await store.findJob(job);
        const run = judgedRuns(await store.events(id)).at(-1)?.header.run;
        if (run === undefined) throw new BenchError("bad-input", "The job has no run with a classed draw");
        return { job: id, run, similar: await store.similar(run, options.most) };
      });
      if (options.json) printDocument(found);
      else if (found.similar.length === 0) printAsIs("The record has no other draw.\n");
      else {
        for (const each of found.similar) {
          const amps = each.plateauAmps === null ? "no plateau" : `${each.plateauAmps.toFixed(3)} A`;
          printAsIs(
            `${shortId(each.job)}  ${classInWords(each.class)}, ${amps}, ${each.board ?? "no board file"}  (differs by ${each.distance.toFixed(1)} standard uncertainties)\n`,
          );
        }
      }
    });
}
