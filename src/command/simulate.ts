import { Command, Option } from "commander";

interface SimulateOptions {
  scenario: string;
  dialect: "plain" | "selection" | "channel-list" | "numbered";
  serial?: boolean;
  recorder?: "scope" | "supply" | "meter";
  seed: string;
  latency: string;
  out?: string;
  boardOut?: string;
  list?: boolean;
  json?: boolean;
}

/** `simulate`: a simulated supply, meter and board on real sockets or ptys, until it is ended. */
export function simulateCommand(): Command {
  return new Command("simulate")
    .description("simulate a supply, a meter and a board on real links; print a bench file and run until ended")
    .option("--scenario <name>", "name of a built-in scenario, or path of a scenario file", "normal")
    .addOption(
      new Option(
        "--dialect <dialect>",
        "how the supply is told which channel is meant; plain gives each feed its own supply",
      )
        .choices(["plain", "selection", "channel-list", "numbered"])
        .default("numbered"),
    )
    .option("--serial", "use pseudo terminals instead of sockets; needs socat")
    .addOption(
      new Option(
        "--recorder [kind]",
        "also simulate an oscilloscope on the last feed and two rails, or the buffer of the supply (--dialect channel-list) or of the meter",
      )
        .choices(["scope", "supply", "meter"])
        .preset("scope"),
    )
    .option("--seed <number>", "start of the random noise", "1")
    .option("--latency <ms>", "how long the supply takes to answer; a value in the scenario takes precedence", "8")
    .option("--out <file>", "also write the bench file there")
    .option("--board-out <file>", "write the board file there, if the scenario has one")
    .option("--list", "list the scenarios and end")
    .option("--json", "print the bench file (or the list) as one line of JSON")
    .addHelpText(
      "after",
      `
While it runs, type where the meter's probe is: "probe core", "probe aux:core", "lift".

Examples:
  firstamp simulate --scenario partial-short --out bench.json --board-out board.json
  firstamp powerup --bench bench.json --board board.json

Exit codes: 0 ended by Ctrl-C or SIGTERM; 2 the scenario does not exist, or --serial was given and socat is missing.`,
    )
    .action(async (options: SimulateOptions) => {
      const { runSimulation } = await import("./serve/run-simulation.ts");
      await runSimulation(options);
    });
}
