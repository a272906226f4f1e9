import { Command, type Command as CommandType, InvalidArgumentError } from "commander";
import { withEnergisingOptions } from "./power/board-options.ts";
import type { SoakOptions } from "./power/soak-run.ts";

const MOST_MINUTES = 24 * 60;

function parseMinutes(text: string): number {
  const minutes = Number(text);
  if (minutes > 0 && minutes <= MOST_MINUTES) return minutes;
  throw new InvalidArgumentError(
    `${JSON.stringify(text)} came; it should be minutes, more than 0 and at most ${MOST_MINUTES}.`,
  );
}

/** `firstamp soak`: a power-up that is watched for minutes. */
export function soakCommand(): CommandType {
  return withEnergisingOptions(
    new Command("soak").description("power a board up and watch its draw for minutes, with all trips active"),
  )
    .requiredOption(
      "--minutes <minutes>",
      "how long it is held at nominal; refused if longer than the board's longest on-time for this --cooler",
      parseMinutes,
    )
    .addHelpText(
      "after",
      `
The stages are those of powerup; only the watch lasts as long as you ask. A draw that keeps climbing ends it. At the end it
prints the verdict and how the current of each feed drifted.

Exit codes: 0 held for the whole time; 1 failed or cut, output off; 2 bad input, nothing touched; 3 stopped because of
the board, output off; 4 the output could not be confirmed off; 5 no instrument answered.`,
    )
    .action(async (options: SoakOptions) => {
      const { soak } = await import("./power/soak-run.ts");
      process.exitCode = await soak(options);
    });
}
