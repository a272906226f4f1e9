import { Command, InvalidArgumentError, Option } from "commander";
import { takesRemembered } from "./input/take-remembered.ts";

interface ClassifyOptions {
  board?: string;
  limit?: number;
  leadOhms?: number;
  host?: "none" | "attached";
  fans?: "on" | "off";
  data?: string;
  supply?: string;
  json?: boolean;
}

/** A number of amps or ohms from the command line; refused with what was there and what should be. */
function figureOf(unit: string, least: number, most: number) {
  return (text: string): number => {
    const value = Number(text);
    if (text.trim() === "" || !Number.isFinite(value) || value < least || value > most) {
      throw new InvalidArgumentError(`It should be a number of ${unit}, ${least} to ${most}.`);
    }
    return value;
  };
}

/**
 * `classify`: the draw verdict of recorded traces. Exit 0 when each file got a verdict (`cannot-tell` is one), 2 when a
 * file could not be read; the others are still judged.
 */
export function classifyCommand(): Command {
  const command = new Command("classify")
    .description("say what recorded draws mean: one verdict per file")
    .argument(
      "<captures...>",
      "CSV files with the columns time_s, volts and amps; feed, stage, set_volts, limit_amps and mode are also used if present",
    )
    .option(
      "--board <file>",
      "board file with its bands, feeds and lock-out voltages; without one the built-in defaults are used, which are weak",
    )
    .option(
      "--limit <amps>",
      "current limit of the supply, if the file does not give one",
      figureOf("amps", 0.001, 100),
    )
    .option("--lead-ohms <ohms>", "resistance of the lead pair, if the file does not give one", figureOf("ohms", 0, 10))
    .addOption(new Option("--host <state>", "whether a host was attached").choices(["none", "attached"]))
    .addOption(new Option("--fans <state>", "whether the fans ran").choices(["on", "off"]))
    .option(
      "--data <dir>",
      "compare it with the record in this directory: good boards of the same kind, and the shop's own numbers",
    )
    .option("--supply <identity>", 'with --data: the supply that recorded it, as "job show" names it')
    .option("--json", "print one line of JSON per file")
    .addHelpText(
      "after",
      `
Examples:
  firstamp classify trace.csv --limit 2
  firstamp classify before.csv after.csv --board kestrel-k2.json --host none --fans off --json

Exit codes: 0 each file got a verdict; 2 a file or an option is wrong.`,
    )
    .action(async (captures: string[], options: ClassifyOptions) => {
      const { classifyFiles } = await import("./input/classify-files.ts");
      process.exitCode = await classifyFiles(captures, options);
    });
  // A trace may be from another day: only what kind of board it is may be remembered, not what was attached to it.
  return takesRemembered(command, { names: () => ["board"] });
}
