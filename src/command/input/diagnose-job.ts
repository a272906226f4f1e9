import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BoardFile } from "../../../shared/files/board-file.ts";
import { DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import type { JobEventOf } from "../../../shared/record/job.ts";
import { filedReadings, laidOver, ofThisBoard } from "../../job/known/filed-readings.ts";
import { runsOf } from "../../job/store/runs-of.ts";
import { diagnose } from "../../verdict/diagnosis/diagnose.ts";
import { readingProblems } from "../../verdict/diagnosis/reading-problems.ts";
import { lookingAtRecord, withRecord } from "../record/with-record.ts";
import { diagnosisText } from "../text/diagnosis-text.ts";
import { print, printDocument } from "../text/people.ts";
import { checkAnswer } from "./check-answer.ts";
import { diagnosisData } from "./diagnose-file.ts";
import { checkDocument, readDocument } from "./read-document.ts";

/**
 * Diagnoses from what is filed with a job, and prints it; readings of a file are laid over. Throws BenchError "bad-input" where no
 * board file is given and no run of the job has one, or something is not what it should be.
 */
export async function diagnoseJob(
  file: string | undefined,
  options: {
    job: string;
    data?: string;
    board?: string;
    shop?: string;
    faults?: string;
    json?: boolean;
    answer?: readonly string[];
  },
): Promise<void> {
  const given = answersOf(options.answer ?? []);
  const before = await lookingAtRecord(options.data, async (store) => store.events(await store.findJob(options.job)));
  const board =
    options.board === undefined
      ? runsOf(before).findLast((run) => run.header.board !== null)?.header.board
      : await readDocument({ schema: BoardFile, what: "board file", file: options.board });
  if (board == null)
    throw new BenchError(
      "bad-input",
      "Cannot diagnose the job: none of its runs names a board file; give one with --board; nothing was touched",
    );
  const { data, shop } = await diagnosisData(options);
  for (const event of given) checkAnswer(event, board, data);
  const log =
    given.length === 0
      ? before
      : await withRecord(options.data, async (store) => {
          const job = await store.findJob(options.job);
          for (const event of given) await store.appendEvent(job, event);
          return store.events(job);
        });
  const filed = ofThisBoard(filedReadings(log, board), board, data);
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

/** "lanes=alike" as the event that is filed. */
function answersOf(given: readonly string[]): JobEventOf<"answer">[] {
  return given.map((text) => {
    const [to = "", answer = ""] = text.split("=").map((part) => part.trim());
    if (to !== "" && answer !== "") return { kind: "answer", to, answer };
    throw new BenchError(
      "bad-input",
      `Cannot file the answer ${quoted(text)}: it should look like lanes=alike, host=none or state=on; nothing was filed`,
    );
  });
}
