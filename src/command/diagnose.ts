import { Command } from "commander";

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
  return new Command("diagnose")
    .description("say what is likely wrong after these readings, and what to measure next; energises nothing")
    .argument("[readings]", "JSON file: draw, coldOhms, volts, signals, checks, cannotReach; all may be left out")
    .option("--board <file>", "board file: rails, what each needs, tolerances, cold ohms")
    .option("--job <id>", "diagnose from what is filed with this job since its last repair; readings come on top")
    .option("--data <dir>", "with --job: data directory (else FIRSTAMP_DATA, else the system's usual place)")
    .option("--shop <file>", "this shop's confirmed causes, counted into the priors")
    .option("--faults <file>", "fault data in place of the shipped: priors, signatures, costs")
    .option(
      "--answer <check=answer>",
      "with --job: file the answer to a look or trial first, like lanes=alike, host=none or state=on; may be given again",
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

Exit: 0 diagnosed, 2 a file is not what it should be.`,
    )
    .action(async (readings: string | undefined, options: DiagnoseOptions, command: Command) => {
      const { job, board } = options;
      if (job !== undefined) {
        const { diagnoseJob } = await import("./input/diagnose-job.ts");
        await diagnoseJob(readings, { ...options, job });
        return;
      }
      if (readings === undefined || board === undefined)
        return command.error("error: it should have a file of readings and --board, or --job");
      const { diagnoseFile } = await import("./input/diagnose-file.ts");
      await diagnoseFile(readings, { ...options, board });
    });
}
