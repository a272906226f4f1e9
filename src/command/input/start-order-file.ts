import { BoardFile } from "../../../shared/files/board-file.ts";
import type { StartOrder } from "../../../shared/record/start-order.ts";
import { sayMs, sayVolts } from "../../../shared/words/amounts.ts";
import { readStartCsv } from "../../capture/read-start-csv.ts";
import { startOrder } from "../../verdict/start/start-order.ts";
import { print, printDocument, say } from "../text/people.ts";
import { readDocument } from "./read-document.ts";

/** Reads a trace, judges the start in it and prints it. Throws BenchError "bad-input" for what a file has wrong. */
export async function startOrderOfFile(
  file: string,
  options: { board: string; name: Readonly<Record<string, string>>; json?: boolean },
): Promise<void> {
  const board = await readDocument({ schema: BoardFile, what: "board file", file: options.board });
  const known = new Set([...Object.keys(board.rails), ...Object.keys(board.feeds)]);
  const { atMs, columns, ignored } = await readStartCsv(file, { known, names: options.name });
  if (ignored.length > 0) say(`note: left out, because they are not points of this board: ${ignored.join(", ")}`);
  const result = startOrder({ atMs, volts: columns }, board);
  if (options.json === true) printDocument(result);
  else for (const line of linesOf(result)) print(line);
}

function linesOf({ rails, order, checks, problems, notes }: StartOrder): string[] {
  return [
    ...order.map((name) => {
      const { beginsMs, riseMs, settlesMs, overshoot, highVolts, uncertainty } = rails[name] ?? {};
      const parts = [
        beginsMs == null ? "" : `begins ${sayMs(beginsMs, uncertainty?.beginsMs ?? null)}`,
        riseMs == null ? "" : `rises in ${sayMs(riseMs, uncertainty?.riseMs ?? null)}`,
        settlesMs == null ? "" : `settled after ${sayMs(settlesMs)}`,
        overshoot == null || overshoot < 0.005 ? "" : `overshoots ${(100 * overshoot).toFixed(1)} %`,
        highVolts == null ? "" : `to ${sayVolts(highVolts)}`,
      ];
      return `${name}: ${parts.filter((part) => part !== "").join(", ")}`;
    }),
    ...checks.map(
      ({ what, ms, expandedMs, leastMs, result }) =>
        `${what}: ${ms === null ? "not seen" : sayMs(ms, expandedMs)}, at least ${sayMs(leastMs)}: ${result.replace("-", " ")}`,
    ),
    ...(problems.length === 0 ? ["This start shows no fault."] : problems.map((each) => `! ${each}`)),
    ...notes,
  ];
}
