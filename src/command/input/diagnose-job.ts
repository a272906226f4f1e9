import { BenchError } from "../../../shared/bench-error.ts";
import { BoardFile } from "../../../shared/board-file.ts";
import { DiagnosisReadings } from "../../../shared/diagnosis.ts";
import { filedReadings } from "../../job/known/filed-readings.ts";
import { runsOf } from "../../job/store/runs-of.ts";
import { diagnose } from "../../verdict/diagnosis/diagnose.ts";
import { readingProblems } from "../../verdict/diagnosis/reading-problems.ts";
import { lookingAtRecord } from "../record/with-record.ts";
import { diagnosisText } from "../text/diagnosis-text.ts";
import { print, printDocument } from "../text/people.ts";
import { diagnosisData } from "./diagnose-file.ts";
import { checkDocument, readDocument } from "./read-document.ts";

/**
 * Diagnoses from what is filed with a job, and prints it; readings of a file are laid over. Throws BenchError "bad-input" where no
 * board file is given and no run of the job has one, or something is not what it should be.
 */
export async function diagnoseJob(
  file: string | undefined,
  options: { job: string; data?: string; board?: string; shop?: string; faults?: string; json?: boolean },
): Promise<void> {
  const log = await lookingAtRecord(options.data, async (store) => store.events(await store.findJob(options.job)));
  const board =
    options.board === undefined
      ? runsOf(log).findLast((run) => run.header.board !== null)?.header.board
      : await readDocument({ schema: BoardFile, what: "board file", file: options.board });
  if (board == null)
    throw new BenchError(
      "bad-input",
      "Cannot diagnose the job: no run of it names a board file; --board should give one; nothing was touched",
    );
  const { data, shop } = await diagnosisData(options);
  const filed = filedReadings(log, board);
  const typed = file === undefined ? null : await readDocument({ schema: DiagnosisReadings, what: "readings", file });
  const schema = DiagnosisReadings.superRefine((readings, context) => {
    for (const { path, message } of readingProblems(board, readings, data))
      context.addIssue({ code: "custom", path, message });
  });
  const document = typed === null ? filed : laidOver(filed, typed);
  const readings = checkDocument({ schema, what: "the readings", document });
  const diagnosis = diagnose({ board, readings, data, shop });
  if (options.json === true) printDocument({ ...diagnosis, readings });
  else print(diagnosisText(diagnosis));
}

/** What a person typed comes before what is filed, point by point. */
function laidOver(filed: DiagnosisReadings, typed: DiagnosisReadings): DiagnosisReadings {
  return {
    ...filed,
    ...typed,
    coldOhms: { ...filed.coldOhms, ...typed.coldOhms },
    volts: { ...filed.volts, ...typed.volts },
    signals: { ...filed.signals, ...typed.signals },
    checks: { ...filed.checks, ...typed.checks },
    cannotReach: [...new Set([...filed.cannotReach, ...typed.cannotReach])],
  };
}
