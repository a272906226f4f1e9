import { JobStage } from "../../../shared/record/job.ts";
import { has, say } from "../../words/record.ts";

/** The stages of a job, in the order a job goes. */
export const JOB_STAGES: readonly JobStage[] = JobStage.options;

/** The stage of a job, or what became of it, as people say it; one this page does not know stays as it is. */
export function stageName(stage: string): string {
  const key = [`stands.${stage}`, `result.${stage}`].find(has);
  return key === undefined ? stage : say(key);
}
