import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { RecordedRun } from "../../../shared/record/recording.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { recordingCsv } from "../../capture/recording-csv.ts";
import { fileFindings } from "../../job/filing/file-findings.ts";
import type { JobStore } from "../../job/store/job-store.ts";

/**
 * Files a record with the job as the trace it is, and the order of the start that its columns of volts show. Answers with what a person
 * should know of it; what cannot be filed is said there and changes nothing of the run.
 */
export async function fileRecording(
  store: JobStore,
  of: { job: string; run: string; board: BoardFile | null; recorded: RecordedRun },
): Promise<string[]> {
  const { job, run, board, recorded } = of;
  try {
    const name = `recording-${run.slice(-12)}.csv`;
    const caption = `recorded by ${recorded.instrument} (${recorded.identity}) during run ${run}`;
    const { event } = await store.attachBytes(job, Buffer.from(recordingCsv(recorded)), { name, caption });
    const showsStart = board !== null && recorded.channels.some((each) => each.of.reads === "volts");
    if (event.kind !== "attachment" || !showsStart) return [];
    return (await fileFindings(store, job, event, { as: "trace", board })).notes;
  } catch (cause) {
    return [`The recording of ${recorded.instrument} could not be filed: ${messageOf(cause)}`];
  }
}
