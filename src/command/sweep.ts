import { Command, Option } from "commander";
import { withEnergisingOptions } from "./power/board-options.ts";
import type { SweepOptions } from "./power/sweep-run.ts";

/** `firstamp sweep`: rail by rail with the probe, powered or cold. */
export function sweepCommand(): Command {
  return withEnergisingOptions(
    new Command("sweep").description(
      "power the board up and be led from rail to rail with the meter's probe; --cold: ohms, nothing energised",
    ),
  )
    .option("--cold", "energise nothing: ohms of inputs, rails and pairs instead of volts")
    .option("--diode", "with --cold: also diode mode, at the points the board file has a value for")
    .option("--four-wire", "with --cold: four wires instead of two")
    .addOption(
      new Option("--black <place>", "where the black probe is: the board's own ground, or the supply's terminal")
        .choices(["board", "supply"])
        .default("board"),
    )
    .addHelpText(
      "after",
      `
The board file names the rails; the probe goes where the tool says. A value is taken by itself once the probe stays on
and the reading is steady; lift, and the next rail is named. The board is held on meanwhile; at its longest on-time it
goes off, cools four times as long and comes back by the same stages.

Lines on standard input steer it:
  take            I am on it (for a rail that reads nothing)
  skip            leave it out              cannot-reach    the probe does not get there
  redo            measure the last one again; both values stay in the record
  volts 1.81      a value read off another meter; with --cold: ohms 4.7, ohms open
  stop            end here, off

Exit codes: 0 all visited or stopped by word; 1 failed or cut, output off; 2 bad input, nothing touched; 3 stopped
because of the board, output off; 4 the output could not be confirmed off; 5 no instrument answered.`,
    )
    .action(async (options: SweepOptions) => {
      const { sweep } = await import("./power/sweep-run.ts");
      process.exitCode = await sweep(options);
    });
}
