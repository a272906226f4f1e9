import { Command } from "commander";

interface FindOptions {
  bench?: string;
  drivers?: string;
  json?: boolean;
  proveWatchdog?: boolean;
  yes?: boolean;
}

/** `firstamp find`: what is connected, who answers, and which driver fits. */
export function findCommand(): Command {
  return new Command("find")
    .description("list links, identify what answers, say which driver fits and why")
    .argument(
      "[address...]",
      "VISA resource names to look at besides those of this machine, as TCPIP0::192.0.2.20::5025::SOCKET",
    )
    .option("--bench <file>", "look at the instruments of a bench file too, with its serial settings and drivers")
    .option("--only", "look at the addresses given (or of the bench file) only, and open no other port of this machine")
    .option(
      "--prove-watchdog",
      "try the communication watchdog of each supply of the bench file: an output on at 0 V, then silence",
    )
    .option("--yes", "do not ask before that")
    .option("--json", "print one JSON document")
    .addHelpText(
      "after",
      `
Without --prove-watchdog it energises nothing and sets nothing: it asks *IDN? and what the drivers ask to know a family. Serial ports are opened at
9600 baud 8N1, or as the bench file says; another speed is never guessed. Opening a port resets some instruments: do not
look for instruments while a board is on.

--prove-watchdog wants --bench and nothing on the leads: it switches an output on at 0 V, says nothing for 3 s, and looks
whether the supply went off by itself.

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
}
