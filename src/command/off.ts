import { Command } from "commander";

/** `firstamp off`: switches off what runs of this data directory had on when their processes died. */
export function offCommand(): Command {
  return new Command("off")
    .description(
      "switch off, without the daemon, the outputs that a run left on when its processes were killed or hang",
    )
    .option("--data <dir>", "data directory (else FIRSTAMP_DATA, else the system's usual place)")
    .option("--json", "print one JSON document")
    .addHelpText(
      "after",
      `
For the end of a service, and for when everything else hangs. While an output may be on, files in the data directory hold
what to send to which supply. A process that still holds the instruments is ended first. If there are no such files, no port
is opened. The next start files the cut with its job.

Exit codes: 0 nothing was on, or all of it is confirmed off; 4 an output could not be confirmed off.`,
    )
    .action(async (options: { data?: string; json?: boolean }) => {
      const { switchAllOff } = await import("./power/off-run.ts");
      process.exitCode = await switchAllOff(options);
    });
}
