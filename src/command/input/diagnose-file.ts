import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BoardFile } from "../../../shared/files/board-file.ts";
import { FaultData, ShopCauses } from "../../../shared/files/fault-data.ts";
import { type Diagnosis, DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import { diagnose } from "../../verdict/diagnosis/diagnose.ts";
import { readingProblems } from "../../verdict/diagnosis/reading-problems.ts";
import { shippedFaultData } from "../../verdict/diagnosis/shipped-fault-data.ts";
import { diagnosisText } from "../text/diagnosis-text.ts";
import { print, printDocument } from "../text/people.ts";
import { readDocument } from "./read-document.ts";

/** Reads the files, diagnoses and prints. Throws BenchError "bad-input" for anything in a file that is not what it should be. */
export async function diagnoseFile(
  file: string,
  options: { board: string; shop?: string; faults?: string; json?: boolean },
): Promise<void> {
  const diagnosis = await diagnosisOf(file, options);
  if (options.json === true) printDocument(diagnosis);
  else print(diagnosisText(diagnosis));
}

/** The diagnosis of a file of readings. */
export async function diagnosisOf(
  file: string,
  options: { board: string; shop?: string; faults?: string },
): Promise<Diagnosis> {
  const board = await readDocument({ schema: BoardFile, what: "board file", file: options.board });
  const { data, shop } = await diagnosisData(options);
  // A name that is no point of this board is refused like any other wrong field, with its path.
  const schema = DiagnosisReadings.superRefine((readings, context) => {
    for (const { path, message } of readingProblems(board, readings, data)) {
      context.addIssue({ code: "custom", path, message });
    }
  });
  const readings = await readDocument({ schema, what: "readings", file });
  return diagnose({ board, readings, data, shop });
}

/** The fault data and the shop's causes, from files where they are given. */
export async function diagnosisData({
  shop: causes,
  faults,
}: {
  shop?: string;
  faults?: string;
}): Promise<{ data: FaultData; shop: ShopCauses | null }> {
  const data =
    faults === undefined
      ? shippedFaultData()
      : await readDocument({ schema: FaultData, what: "fault data", file: faults });
  const shop =
    causes === undefined ? null : await readDocument({ schema: ShopCauses, what: "confirmed causes", file: causes });
  if (shop !== null) checkCauses(shop, data, causes ?? "");
  return { data, shop };
}

function checkCauses(shop: ShopCauses, data: FaultData, file: string): void {
  const known = new Set([...data.rows, ...data.anyBoard].map((row) => row.id));
  const stray = Object.keys(shop.confirmed).filter((id) => !known.has(id));
  if (stray.length === 0) return;
  const problems = stray.map((id) => `confirmed.${id} is not a fault of the fault data`);
  throw new BenchError(
    "bad-input",
    `Cannot use confirmed causes ${quoted(file)}: ${problems.join("; ")}; nothing was touched`,
    {
      detail: { problems },
    },
  );
}
