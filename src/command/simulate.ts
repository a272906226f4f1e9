import { Command, Option } from "commander";

interface SimulateOptions {
  scenario: string;
  dialect: "plain" | "selection" | "channel-list" | "numbered";
  serial?: boolean;
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
    .description("simulate a supply, a meter and a board on real links; prints a bench file and stays until ended")
    .option("--scenario <name>", "a shipped scenario by name, or a scenario file by its path", "normal")
    .addOption(
      new Option(
        "--dialect <dialect>",
        "how the supply is told which channel is meant; plain gives each feed a supply of its own",
      )
        .choices(["plain", "selection", "channel-list", "numbered"])
        .default("numbered"),
    )
    .option("--serial", "on pseudo terminals in place of sockets; needs socat")
    .option("--seed <number>", "of the noise", "1")
    .option("--latency <ms>", "how long the supply takes to answer; a scenario's own word goes first", "8")
    .option("--out <file>", "write the bench file there as well")
    .option("--board-out <file>", "write the board file there, where the scenario has one")
    .option("--list", "list the scenarios and end")
    .option("--json", "print the bench file (or the list) as one line of JSON")
    .addHelpText(
      "after",
      `
While it runs, lines on stdin put the meter's probe somewhere: "probe core", "probe aux:core", "lift".

Examples:
  firstamp simulate --scenario partial-short --out bench.json --board-out board.json
  firstamp powerup --bench bench.json --board board.json

Exit: 0 ended by Ctrl-C or SIGTERM, 2 there is no such scenario, or no socat for --serial.`,
    )
    .action(async (options: SimulateOptions) => {
      const { runSimulation } = await import("./serve/run-simulation.ts");
      await runSimulation(options);
    });
}
