import { Command, type Command as CommandType, InvalidArgumentError, Option } from "commander";
import { withEnergisingOptions } from "./power/board-options.ts";
import type { InjectOptions } from "./power/inject-run.ts";

const parseNumber =
  (what: string, least: number, most: number) =>
  (text: string): number => {
    const value = Number(text);
    if (text.trim() !== "" && value >= least && value <= most) return value;
    throw new InvalidArgumentError(`${JSON.stringify(text)} came; it should be ${what}, ${least} to ${most}.`);
  };

/** `firstamp inject`: a small voltage into a shorted rail, so that the short can be found by its heat. */
export function injectCommand(): CommandType {
  return withEnergisingOptions(
    new Command("inject").description(
      "find a short: send a capped voltage and a limited current into one rail, with everything else unplugged",
    ),
  )
    .requiredOption(
      "--rail <rail>",
      "the rail the leads are on, named as in the board file (or core, mem, 12v, 5v, 3v3, 1v8 …)",
    )
    .requiredOption("--feed <feed>", "the feed of the bench whose leads are on the rail")
    .addOption(
      new Option(
        "--side <side>",
        "the side of the rail's inductor the leads are on; none: the rail has no inductor",
      ).choices(["after", "before", "none"]),
    )
    .option("--cap <volts>", "a lower cap for this rail; a cap is never raised", parseNumber("volts", 0.05, 3))
    .option("--alcohol", "there is alcohol on the board to show the heat: the cap is then 1 V at most")
    .option("--hold <seconds>", "how long each level lasts, 10 to 20; 15 by default", parseNumber("seconds", 10, 20))
    .addHelpText(
      "after",
      `
Voltage caps: core 0.7 V, PLL 0.7, memory 1.0, a 1.8 V rail 1.5, 3.3 V 2.5, 5 V 3, a 12 V input 1.0 (0.8 if it reads like
the core, or was not measured); at most 1 V with --alcohol.

Levels: the first limit puts 0.3 W into the short, calculated from its cold ohms (--ohms RAIL=VALUE; 0.5 A without them).
Then come 1, 2, 3 and 5 A if they are higher. Each needs a yes from a person, and everything is off while it asks. With --json
or --yes there is only one level.

It stops at 5 W or 100 J on the board. It also stops when the voltage jumps up by 20 % or the current falls by 10 % from one
reading to the next: the short has opened, which is not a repair. A slow rise is only the copper warming. Press Ctrl-C when
you have found the heat.

Always required, and never waived: --checked unplugged,polarity and --side. See docs/injection.md.

Exit codes: 0 ended by time or by a key; 1 failed, output off; 2 bad input, nothing touched; 3 stopped because of the
board, output off; 4 the output could not be confirmed off; 5 no instrument answered.`,
    )
    .action(async (options: InjectOptions) => {
      const { inject } = await import("./power/inject-run.ts");
      process.exitCode = await inject(options);
    });
}
