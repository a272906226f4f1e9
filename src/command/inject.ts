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
      "hunt a short: a capped voltage and a limited current into one rail, the board otherwise unplugged",
    ),
  )
    .requiredOption("--rail <rail>", "the rail the leads are on, by the board file (or core, mem, 12v, 5v, 3v3, 1v8 …)")
    .requiredOption("--feed <feed>", "which feed of the bench has its leads on the rail")
    .addOption(
      new Option("--side <side>", "side of the rail's inductor the leads are on; none: there is no inductor").choices([
        "after",
        "before",
        "none",
      ]),
    )
    .option("--cap <volts>", "lowers the cap of this rail; never raises it", parseNumber("volts", 0.05, 3))
    .option("--alcohol", "alcohol is put on the board to see the heat: the cap is 1 V at most")
    .option("--hold <seconds>", "how long a level lasts, 10 to 20; 15 by default", parseNumber("seconds", 10, 20))
    .addHelpText(
      "after",
      `
Caps: core 0.7 V, PLL 0.7, memory 1.0, a 1.8 V rail 1.5, 3.3 V 2.5, 5 V 3, a 12 V input 1.0 (0.8 where it reads like the
core, or was not measured); 1 V at most with --alcohol. The first limit puts 0.3 W into the short by its cold ohms
(--ohms RAIL=VALUE; 0.5 A without), then 1, 2, 3, 5 A as far as they are higher; the next only after a person's yes, with
everything off meanwhile. With --json or --yes there is one level. It stops at 5 W or 100 J on the board, and when the volts
jump up by 20 % or the current falls by 10 % from one reading to the next: opened under injection, which is no repair. A slow
rise is the copper warming. Ctrl-C ends it: the heat was found.

Needed, and never waived: --checked unplugged,polarity and --side. See docs/injection.md.

Exit codes: 0 ended by time or by a key; 1 failed, output off; 2 bad input, nothing touched; 3 stopped because of the
board, output off; 4 the output could not be confirmed off; 5 no instrument answered.`,
    )
    .action(async (options: InjectOptions) => {
      const { inject } = await import("./power/inject-run.ts");
      process.exitCode = await inject(options);
    });
}
