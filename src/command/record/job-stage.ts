import { type Command, InvalidArgumentError } from "commander";
import type { JobStage } from "../../../shared/record/job.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

const STAGES: readonly JobStage[] = [
  "received",
  "on-bench",
  "waiting-for-owner",
  "waiting-for-parts",
  "on-trial",
  "ready",
  "handed-back",
];

function stageOf(text: string): JobStage {
  const found = STAGES.find((each) => each === text);
  if (found === undefined) throw new InvalidArgumentError(`It should be one of ${STAGES.join(", ")}.`);
  return found;
}

/** `job stage`: files the stage a job enters, or says how long it was in each. */
export function jobStageCommand(): Command {
  return jobSubcommand("stage", "set the stage of a job; without a stage: show how long the job was in each")
    .argument("<job>", "the job")
    .argument("[stage]", STAGES.join(", "), stageOf)
    .argument("[text...]", "a remark; several words are joined by spaces")
    .action(async (job: string, stage: JobStage | undefined, text: string[], options: JobOptions) => {
      const [{ lookingAtRecord, withRecord }, { printAsIs, printDocument, say }, { stagesOf }, { stagesText }] =
        await Promise.all([
          import("./with-record.ts"),
          import("../text/people.ts"),
          import("../../job/known/stages-of.ts"),
          import("../text/stages-text.ts"),
        ]);
      if (stage === undefined) {
        const found = await lookingAtRecord(options.data, async (store) => {
          const id = await store.findJob(job);
          return { job: id, stages: stagesOf(await store.events(id), Date.now()) };
        });
        if (options.json) printDocument(found);
        else printAsIs(stagesText(found.stages));
        return;
      }
      const filed = await withRecord(options.data, async (store) => {
        const id = await store.findJob(job);
        const words = text.length === 0 ? null : text.join(" ");
        const { id: event, seq } = await store.appendEvent(id, { kind: "stage", stage, text: words });
        return { job: id, event, seq, stage };
      });
      if (options.json) printDocument(filed);
      else say(`Filed as entry ${filed.seq}.`);
    });
}
