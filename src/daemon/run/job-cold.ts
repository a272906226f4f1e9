import type { FiledColdReadings } from "../../../shared/cold-evidence.ts";
import { filedCold } from "../../job/known/filed-cold.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import type { RunRequest } from "./run-request.ts";

/**
 * The cold readings a job has, with their age now; none where there is no job yet. Takes a job's whole id, and how warm the
 * board is now, where that is known.
 */
export async function coldOfJob(
  store: JobStore,
  job: string | null,
  boardCelsius: number | null = null,
): Promise<FiledColdReadings> {
  return job === null
    ? {}
    : filedCold(await store.events(job), { nowMs: Date.now(), boardCelsius, isOwn: store.set.isOwn });
}

/** Files readings that were typed in with the job, whatever becomes of the run they were for. */
export async function fileTypedCold(
  store: JobStore,
  job: string,
  { coldOhms, fourWire = [], boardCelsius = null }: Pick<RunRequest, "coldOhms" | "fourWire" | "boardCelsius">,
): Promise<void> {
  if (Object.keys(coldOhms).length === 0) return;
  const four = fourWire.length === 0 ? {} : { fourWire: [...fourWire] };
  await store.appendEvent(job, { kind: "cold-readings", ohms: coldOhms, by: "hand", boardCelsius, ...four });
}
