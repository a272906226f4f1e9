import { Command } from "commander";
import { withEnergisingOptions } from "./power/board-options.ts";
import type { LeadOhmsOptions } from "./power/lead-ohms-run.ts";

/** `firstamp lead-ohms`: the resistance of a feed's leads, which an ohmmeter cannot tell, in a second and a half. */
export function leadOhmsCommand(): Command {
  return withEnergisingOptions(
    new Command("lead-ohms").description(
      "measure the resistance of a feed's leads, joined at the card end; it is subtracted from every short",
    ),
  )
    .requiredOption("--feed <feed>", "the feed of the bench whose leads are measured")
    .option("--joined", "you have joined both lead ends at the card end, and no board is on them")
    .option("--write", "write it into the bench file, with its uncertainty")
    .addHelpText(
      "after",
      `
Sends up to 3 A at no more than 0.5 V through the leads for 1.5 s, and reads volts and amps at the supply. The uncertainty is
that of the supply. Where the value is subtracted, 0.01 Ω is added for clips that are put on again. Repeat it after changing
leads. It is refused if less than the limit flows, or if more than 0.25 Ω are found.

Example:
  firstamp lead-ohms --bench bench.json --feed aux --joined --write

Exit codes: 0 measured; 1 not measured, output off; 2 bad input, nothing touched; 3 stopped, output off; 4 the output could
not be confirmed off; 5 no instrument answered.`,
    )
    .action(async (options: LeadOhmsOptions) => {
      const { leadOhms } = await import("./power/lead-ohms-run.ts");
      process.exitCode = await leadOhms(options);
    });
}
