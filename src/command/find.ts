import { Command } from "commander";
import { takesRemembered } from "./input/take-remembered.ts";

interface FindOptions {
  bench?: string;
  drivers?: string;
  json?: boolean;
  proveWatchdog?: boolean;
  yes?: boolean;
}

/** `firstamp find`: what is connected, who answers, and which driver fits. */
export function findCommand(): Command {
  const command = new Command("find")
    .description("list the links, identify what answers, and say which driver fits and why")
    .argument(
      "[address...]",
      "VISA resource names to look at as well as those of this machine, such as TCPIP0::192.0.2.20::5025::SOCKET",
    )
    .option("--bench <file>", "also look at the instruments of a bench file, with its serial settings and drivers")
    .option(
      "--only",
      "look only at the given addresses (or at those of the bench file), and open no other port of this machine",
    )
    .option(
      "--prove-watchdog",
      "test the communication watchdog of each supply of the bench file: switch an output on at 0 V, then send nothing",
    )
    .option("--yes", "do not ask before the watchdog test")
    .option("--json", "print one JSON document")
    .addHelpText(
      "after",
      `
Without --prove-watchdog it energises nothing and changes no setting: it only asks each instrument what it is. Serial ports
are opened at 9600 baud 8N1, or as the bench file says; no other speed is tried. Opening a port resets some instruments, so
do not look for instruments while a board is on.

--prove-watchdog needs --bench, and nothing on the leads. It switches an output on at 0 V, sends nothing for 3 s, and checks
whether the supply switched off on its own.

Examples:
  firstamp find
  firstamp find --only TCPIP0::192.0.2.20::5025::SOCKET
  firstamp find --bench bench.json --json
  firstamp find --bench bench.json --only --prove-watchdog

Exit codes: 0 something answered; 1 a watchdog did not act; 2 bad input; 4 an output could not be confirmed off; 5 nothing
answered.`,
    )
    .action(async (addresses: string[], options: FindOptions & { only?: boolean }) => {
      const { find } = await import("./power/find-run.ts");
      process.exitCode = await find(addresses, options);
    });
  return takesRemembered(command);
}
