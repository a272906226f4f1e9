import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { JobDiagnosis } from "../../../shared/wire-job.ts";
import { filedAnswers } from "../../job/known/filed-answers.ts";
import { filedReadings, ofThisBoard } from "../../job/known/filed-readings.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { runsOf } from "../../job/store/runs-of.ts";
import { answerChoices } from "../../verdict/diagnosis/answer-choices.ts";
import { diagnose } from "../../verdict/diagnosis/diagnose.ts";
import { shippedFaultData } from "../../verdict/diagnosis/shipped-fault-data.ts";

/** The diagnosis from all that is filed with a job, as `diagnose --job` comes to it; null where no board file is known. */
export async function diagnosisOfJob(
  store: JobStore,
  job: string,
  board: BoardFile | null,
): Promise<JobDiagnosis | null> {
  const log = await store.events(job);
  const known = runsOf(log).findLast((run) => run.header.board !== null)?.header.board ?? board;
  if (known === null) return null;
  const data = shippedFaultData();
  const readings = ofThisBoard(filedReadings(log, known), known, data);
  const answers = filedAnswers(log);
  const choices = answerChoices(
    answers.map((each) => each.to),
    { board: known, data },
  );
  return {
    readings,
    diagnosis: diagnose({ board: known, readings, data, shop: null }),
    answered: answers.map((each) => ({ ...each, choices: choices[each.to] ?? [] })),
  };
}
