import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import { DiagnosisReadings, HostCondition } from "../../../shared/record/diagnosis.ts";
import type { JobEventOf } from "../../../shared/record/job.ts";
import { readingProblems } from "../../verdict/diagnosis/reading-problems.ts";

/** Throws BenchError "bad-input" for an answer that this board's diagnosis does not know. */
export function checkAnswer({ to, answer }: JobEventOf<"answer">, board: BoardFile, data: FaultData): void {
  const isCondition = to === "host" || to === "state";
  const parsed = DiagnosisReadings.safeParse(isCondition ? { [to]: answer } : { checks: { [to]: answer } });
  const [problem] = parsed.success
    ? readingProblems(board, parsed.data, data)
    : [{ path: [to], message: `is ${quoted(answer)}; it should be one of ${HostCondition.options.join(", ")}` }];
  if (problem === undefined) return;
  throw new BenchError(
    "bad-input",
    `Cannot file the answer ${quoted(`${to}=${answer}`)}: ${problem.path.join(".")} ${problem.message}; nothing was filed`,
  );
}
