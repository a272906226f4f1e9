import { Command } from "commander";
import { takesRemembered } from "./input/take-remembered.ts";

interface DiagnoseOptions {
  board?: string;
  job?: string;
  data?: string;
  shop?: string;
  faults?: string;
  json?: boolean;
  answer?: string[];
}

/** `diagnose`: likely faults after these readings and the next best measurement. Energises nothing. */
export function diagnoseCommand(): Command {
  const command = new Command("diagnose")
    .description("say what is probably wrong after these readings, and what to measure next; nothing is energised")
    .argument("[readings]", "JSON file with draw, coldOhms, volts, signals, checks, cannotReach; each may be left out")
    .option("--board <file>", "board file with the rails, what each needs, tolerances and cold ohms")
    .option(
      "--job <id>",
      "diagnose from what is filed with this job since its last repair; readings from a file are added",
    )
    .option("--data <dir>", "with --job: data directory (else FIRSTAMP_DATA, else the system's usual place)")
    .option("--shop <file>", "confirmed causes of this shop, which are counted into the starting probabilities")
    .option("--faults <file>", "fault data to use instead of the built-in: starting probabilities, signatures, costs")
    .option(
      "--answer <check=answer>",
      "with --job: first file the answer to a check, such as lanes=alike, host=none or state=on; may be repeated",
      (text: string, answers: string[] = []) => [...answers, text],
    )
    .option("--json", "print one JSON document")
    .addHelpText(
      "after",
      `
Readings:
  { "draw": "core-alive", "coldOhms": { "core": 0.4, "aux:core": 3000, "aux": "open" },
    "volts": { "mem": 0.02 }, "signals": { "clock": 0.0 }, "cannotReach": ["soc"] }

Examples:
  firstamp diagnose --board kestrel-k2.json readings.json
  firstamp diagnose --board kestrel-k2.json --shop confirmed.json readings.json --json
  firstamp diagnose --job 4f2a
  firstamp diagnose --job 4f2a --answer lanes=one-differs --answer host=none

Exit codes: 0 diagnosed; 2 a file is wrong.`,
    )
    .action(async (readings: string | undefined, options: DiagnoseOptions, command: Command) => {
      const { job, board } = options;
      if (job !== undefined) {
        const { diagnoseJob } = await import("./input/diagnose-job.ts");
        await diagnoseJob(readings, { ...options, job });
        return;
      }
      if (readings === undefined || board === undefined)
        return command.error("error: give a file of readings with --board, or give --job");
      const { diagnoseFile } = await import("./input/diagnose-file.ts");
      await diagnoseFile(readings, { ...options, board });
    });
  // A job has its own board file in its runs; a file of readings may be of another board than the current job's.
  return takesRemembered(command, {
    names: (command) =>
      command.getOptionValue("job") !== undefined ? [] : command.args.length > 0 ? ["board"] : ["job"],
  });
}
