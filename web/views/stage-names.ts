import type { JobStage } from "../../shared/job.ts";

/** The stages of a job, as people say it; in the order a job goes. */
export const JOB_STAGES: Record<JobStage, string> = {
  received: "received",
  "on-bench": "on the bench",
  "waiting-for-owner": "waits for the owner",
  "waiting-for-parts": "waits for parts",
  "on-trial": "on trial",
  ready: "ready to hand back",
  "handed-back": "handed back",
};

export const stageName = (stage: string): string => JOB_STAGES[stage as JobStage] ?? stage;
