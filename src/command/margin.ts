import { Command, type Command as CommandType, InvalidArgumentError } from "commander";
import { withEnergisingOptions } from "./power/board-options.ts";
import type { MarginOptions } from "./power/margin-run.ts";

function parseSteps(text: string): number {
  const steps = Number(text);
  if (Number.isInteger(steps) && steps >= 3 && steps <= 11) return steps;
  throw new InvalidArgumentError(`${JSON.stringify(text)} came; it should be a whole number, 3 to 11.`);
}

/** `firstamp margin`: a feed stepped within its tolerance, the draw settled at each step. */
export function marginCommand(): CommandType {
  return withEnergisingOptions(
    new Command("margin").description(
      "power a board up, then step one feed's volts within its tolerance and say how the draw follows",
    ),
  )
    .option("--feed <feed>", "which feed is stepped; without it the one with the highest limit")
    .option("--steps <count>", "set-points in all, nominal included, 3 to 11; 5 by default", parseSteps)
    .option(
      "--rail <rail>",
      "the rail the meter's probe is on: its volts are read at each step; with a scanner every rail it is wired to is, without this option",
    )
    .addHelpText(
      "after",
      `
After a clean power-up (watched 3 s unless --watch says otherwise) the feed goes to nominal, down to the low end of its
tolerance and up to the high end, never outside it and never to the board's most volts. The exponent says what the
draw is: -1 a resistor, 0 a constant current, +1 converters that hold their power. It ends with the output off.

Exit codes: 0 all steps taken; 1 failed or cut, output off; 2 bad input, nothing touched; 3 stopped because of the
board, output off; 4 the output could not be confirmed off; 5 no instrument answered.`,
    )
    .action(async (options: MarginOptions) => {
      const { margin } = await import("./power/margin-run.ts");
      process.exitCode = await margin(options);
    });
}
