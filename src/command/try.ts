import { Command, InvalidArgumentError, Option } from "commander";

export interface TryOptions {
  once?: boolean;
  scenario: string;
  dialect: "plain" | "selection" | "channel-list" | "numbered";
  data?: string;
  port: number;
  watch?: number;
  json?: boolean;
}

const number = (least: number, most: number) => (text: string) => {
  const value = Number(text);
  if (!(value >= least && value <= most)) throw new InvalidArgumentError(`it should be a number, ${least} to ${most}.`);
  return value;
};

/** `firstamp try`: a first power-up on the simulated bench of Tern Street Electronics, then its page. */
export function tryCommand(): Command {
  return new Command("try")
    .description("do a first power-up of a Kestrel K2 on a simulated bench, then serve the page for that bench")
    .option("--once", "do the power-up, print the result and end")
    .option("--scenario <name>", "a built-in scenario (simulate --list names them)", "normal")
    .addOption(
      new Option("--dialect <name>", "the dialect of the simulated supply")
        .choices(["plain", "selection", "channel-list", "numbered"])
        .default("numbered"),
    )
    .option("--data <dir>", "data directory; by default a demonstration folder next to the usual one")
    .option("--port <n>", "port of the page; 0, the default, picks a free one", number(0, 65_535), 0)
    .option("--watch <seconds>", "how long to watch at nominal, 1 to 600; 15 by default", number(1, 600))
    .option("--json", 'print the power-up as one JSON document; then, without --once, { "url": … }')
    .addHelpText("after", "\nExit codes: with --once as for powerup, otherwise as for serve.")
    .action(async (options: TryOptions) => {
      const { tryOut } = await import("./serve/try-run.ts");
      process.exitCode = await tryOut(options);
    });
}
