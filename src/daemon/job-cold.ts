import type { FiledColdReadings } from "../../shared/cold-evidence.ts";
import type { ColdReadings } from "../../shared/permit.ts";
import { filedCold } from "../job/filed-cold.ts";
import type { JobStore } from "../job/job-store.ts";

/** The cold readings a job has, with their age now; none where there is no job yet. Takes a job's whole id. */
export async function coldOfJob(store: JobStore, job: string | null): Promise<FiledColdReadings> {
  return job === null ? {} : filedCold(await store.events(job), Date.now());
}

/** Files readings that were typed in with the job, whatever becomes of the run they were for. */
export async function fileTypedCold(store: JobStore, job: string, ohms: ColdReadings): Promise<void> {
  if (Object.keys(ohms).length === 0) return;
  await store.appendEvent(job, { kind: "cold-readings", ohms, by: "hand", boardCelsius: null });
}
