import { Command } from "commander";
import { parseName } from "./record/job-attach.ts";

interface StartOrderOptions {
  board: string;
  name: Record<string, string>;
  json?: boolean;
}

/** `start-order`: the order and times of a start, from a recorded trace. Touches no instrument. */
export function startOrderCommand(): Command {
  return new Command("start-order")
    .description(
      "say in which order a board's rails came up, and what is wrong with it, from a trace with several columns",
    )
    .argument("<trace>", "CSV file with a time column (time_s) and columns by the names of rails, signals or feeds")
    .requiredOption("--board <file>", "board file: rails, their volts and tolerances, and what each needs")
    .option("--name <column=rail>", "which rail a column is, once for each: --name CH1=core", parseName, {})
    .option("--json", "print one JSON document")
    .addHelpText(
      "after",
      `
Times are as IEEE Std 181-2011 defines them: begin at 10 %, rise from 10 to 90 %, settled from 50 % on within 2 %.

Exit codes: 0 nothing wrong was seen, or something was and is said; 2 a file is not what it should be.`,
    )
    .action(async (trace: string, options: StartOrderOptions) => {
      const { startOrderOfFile } = await import("./input/start-order-file.ts");
      await startOrderOfFile(trace, options);
    });
}
