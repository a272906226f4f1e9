import { Command } from "commander";
import { takesRemembered } from "./input/take-remembered.ts";
import { parseName } from "./record/job-attach.ts";

interface StartOrderOptions {
  board: string;
  name: Record<string, string>;
  json?: boolean;
}

/** `start-order`: the order and times of a start, from a recorded trace. Touches no instrument. */
export function startOrderCommand(): Command {
  const command = new Command("start-order")
    .description(
      "say in which order a board's rails came up, and what is wrong with the order, from a trace with several columns",
    )
    .argument("<trace>", "CSV file with a time column (time_s) and columns by the names of rails, signals or feeds")
    .option("--board <file>", "board file: rails, their volts and tolerances, and what each needs")
    .option("--name <column=rail>", "which rail a column is, repeated for each column: --name CH1=core", parseName, {})
    .option("--json", "print one JSON document")
    .addHelpText(
      "after",
      `
Times follow IEEE Std 181-2011: a rail begins at 10 %, rises from 10 to 90 %, and is settled when it stays within 2 %, counted from 50 %.

Exit codes: 0 the trace was read, with or without problems found; 2 a file is wrong.`,
    )
    .action(async (trace: string, options: StartOrderOptions) => {
      const { startOrderOfFile } = await import("./input/start-order-file.ts");
      await startOrderOfFile(trace, options);
    });
  return takesRemembered(command, { needs: { name: "board", flags: "--board <file>" } });
}
