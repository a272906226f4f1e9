import { readFile } from "node:fs/promises";
import type { z } from "zod";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BoardFile } from "../../../shared/board-file.ts";
import { type Diagnosis, DiagnosisReadings } from "../../../shared/diagnosis.ts";
import { FaultData, ShopCauses } from "../../../shared/fault-data.ts";
import { diagnose } from "../../verdict/diagnosis/diagnose.ts";
import { readingProblems } from "../../verdict/diagnosis/reading-problems.ts";
import { shippedFaultData } from "../../verdict/diagnosis/shipped-fault-data.ts";
import { diagnosisText } from "../text/diagnosis-text.ts";
import { print, printDocument } from "../text/people.ts";
import { readDocument } from "./read-document.ts";
import { repeatedKey } from "./repeated-key.ts";

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
  const board = await readUnique({ schema: BoardFile, what: "board file", file: options.board });
  const { data, shop } = await diagnosisData(options);
  // What names no point of this board is refused like any other wrong field, with its path.
  const schema = DiagnosisReadings.superRefine((readings, context) => {
    for (const { path, message } of readingProblems(board, readings, data)) {
      context.addIssue({ code: "custom", path, message });
    }
  });
  const readings = await readUnique({ schema, what: "readings", file });
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
      : await readUnique({ schema: FaultData, what: "fault data", file: faults });
  const shop =
    causes === undefined ? null : await readUnique({ schema: ShopCauses, what: "confirmed causes", file: causes });
  if (shop !== null) checkCauses(shop, data, causes ?? "");
  return { data, shop };
}

/** As `readDocument`, and a key that stands twice in one object is refused: the last of them would win unseen. */
export async function readUnique<S extends z.ZodType>(options: {
  schema: S;
  what: string;
  file: string;
}): Promise<z.output<S>> {
  const document = await readDocument(options);
  const path = repeatedKey(await readFile(options.file, "utf8"));
  if (path === null) return document;
  throw new BenchError(
    "bad-input",
    `Cannot use ${options.what} ${quoted(options.file)}: ${path} is there twice; each name is given once; nothing was touched`,
    { detail: { problems: [`${path} is there twice`] } },
  );
}

function checkCauses(shop: ShopCauses, data: FaultData, file: string): void {
  const known = new Set([...data.rows, ...data.anyBoard].map((row) => row.id));
  const stray = Object.keys(shop.confirmed).filter((id) => !known.has(id));
  if (stray.length === 0) return;
  const problems = stray.map((id) => `confirmed.${id} is no fault of the fault data`);
  throw new BenchError(
    "bad-input",
    `Cannot use confirmed causes ${quoted(file)}: ${problems.join("; ")}; nothing was touched`,
    {
      detail: { problems },
    },
  );
}
