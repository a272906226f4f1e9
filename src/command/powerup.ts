import { Command } from "commander";
import { type EnergisingOptions, withEnergisingOptions } from "./power/board-options.ts";

/** `firstamp powerup`: one first power-up, judged and filed. */
export function powerupCommand(): Command {
  return withEnergisingOptions(
    new Command("powerup").description(
      "power a board up under a current limit, say what its draw means, and file it with a job",
    ),
  )
    .addHelpText(
      "after",
      `
Stages: check, touch (about 0.9 V), hold-low (a quarter of nominal), rise (to nominal), watch, off. A stage begins only when
the one before it was clean on every feed. On a terminal it asks once before it energises; with --json or --yes it does not
ask.
Ctrl-C cuts at once. The program's off is not an emergency stop: keep the supply's own switch in reach.

Exit codes: 0 as planned; 1 failed, output off; 2 bad input, nothing touched; 3 stopped because of the board, output off;
4 the output could not be confirmed off; 5 no instrument answered.`,
    )
    .action(async (options: EnergisingOptions) => {
      const { powerup } = await import("./power/powerup-run.ts");
      process.exitCode = await powerup(options);
    });
}
