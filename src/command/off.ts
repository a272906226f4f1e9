import { Command } from "commander";

/** `firstamp off`: switches off what runs of this data directory had on when their processes died. */
export function offCommand(): Command {
  return new Command("off")
    .description("switch off, by themselves, the outputs that a run had on whose processes were killed or hang")
    .option("--data <dir>", "data directory (else FIRSTAMP_DATA, else the system's usual place)")
    .option("--json", "print one JSON document")
    .addHelpText(
      "after",
      `
For a service's own end and for when all else hangs. What to write to which supply stands in files that are left in the
data directory while something may be on; a process that still holds the instruments is ended first. With nothing left
there nothing is opened. What was cut is filed with its job by the next start.

Exit codes: 0 nothing was on, or all of it is confirmed off; 4 an output could not be confirmed off.`,
    )
    .action(async (options: { data?: string; json?: boolean }) => {
      const { switchAllOff } = await import("./power/off-run.ts");
      process.exitCode = await switchAllOff(options);
    });
}
