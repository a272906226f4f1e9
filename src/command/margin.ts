import { Command, type Command as CommandType, InvalidArgumentError } from "commander";
import { withEnergisingOptions } from "./power/board-options.ts";
import type { MarginOptions } from "./power/margin-run.ts";

function parseSteps(text: string): number {
  const steps = Number(text);
  if (Number.isInteger(steps) && steps >= 3 && steps <= 11) return steps;
  throw new InvalidArgumentError(`${JSON.stringify(text)} came; it should be a whole number from 3 to 11.`);
}

/** `firstamp margin`: a feed stepped within its tolerance, the draw settled at each step. */
export function marginCommand(): CommandType {
  return withEnergisingOptions(
    new Command("margin").description(
      "power a board up, then step the voltage of one feed within its tolerance and say how the draw follows",
    ),
  )
    .option("--feed <feed>", "the feed to step; by default the one with the highest limit")
    .option("--steps <count>", "number of voltage steps, nominal included, 3 to 11; 5 by default", parseSteps)
    .option(
      "--rail <rail>",
      "the rail the meter's probe is on: its voltage is read at each step; with a scanner, every wired rail is read without this option",
    )
    .addHelpText(
      "after",
      `
After a clean power-up (watched for 3 s, or as --watch says) the feed is stepped from nominal down to the low end of its
tolerance, then up to the high end. It never leaves the tolerance and stays below the board's highest voltage. The exponent
tells what the draw is: -1 a resistor, 0 a constant current, +1 converters that hold their power. The output is off at the end.

Exit codes: 0 all steps taken; 1 failed or cut, output off; 2 bad input, nothing touched; 3 stopped because of the
board, output off; 4 the output could not be confirmed off; 5 no instrument answered.`,
    )
    .action(async (options: MarginOptions) => {
      const { margin } = await import("./power/margin-run.ts");
      process.exitCode = await margin(options);
    });
}
