import { Command } from "commander";

/** `diagnose`: likely faults after these readings and the next best measurement. Energises nothing. */
export function diagnoseCommand(): Command {
  return new Command("diagnose")
    .description("say what is likely wrong after these readings, and what to measure next; energises nothing")
    .argument("<readings>", "JSON file: draw, coldOhms, volts, signals, checks, cannotReach; all may be left out")
    .requiredOption("--board <file>", "board file: rails, what each needs, tolerances, cold ohms")
    .option("--shop <file>", "this shop's confirmed causes, counted into the priors")
    .option("--faults <file>", "fault data in place of the shipped: priors, signatures, costs")
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

Exit: 0 diagnosed, 2 a file is not what it should be.`,
    )
    .action(async (readings: string, options: { board: string; shop?: string; faults?: string; json?: boolean }) => {
      const { diagnoseFile } = await import("./input/diagnose-file.ts");
      await diagnoseFile(readings, options);
    });
}
