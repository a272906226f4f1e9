import { Command, InvalidArgumentError, Option } from "commander";
import { withEnergisingOptions } from "./power/board-options.ts";
import type { SweepOptions } from "./power/sweep-run.ts";

function parseCelsius(text: string): number {
  const celsius = Number(text);
  if (text.trim() !== "" && celsius >= -40 && celsius <= 150) return celsius;
  throw new InvalidArgumentError("It should be degrees Celsius, -40 to 150.");
}

/** `firstamp sweep`: rail by rail with the probe, powered or cold. */
export function sweepCommand(): Command {
  return withEnergisingOptions(
    new Command("sweep").description(
      "power the board up and be led from rail to rail with the meter's probe; with --cold: ohms, nothing energised",
    ),
  )
    .option("--cold", "energise nothing: measure ohms of inputs, rails and pairs instead of volts")
    .option("--diode", "with --cold: also diode mode, at points for which the board file has a value")
    .option(
      "--group <name>",
      "energise nothing: measure the points of this group of the board file and compare them; ohms, or diode mode with --diode",
    )
    .option("--across", "also measure volts over the parts for which the board file gives ohms: amps of each rail")
    .option(
      "--part-celsius <degrees>",
      "with --across: how warm those parts are; if not given, 20 to 80 °C",
      parseCelsius,
    )
    .option("--four-wire", "with --cold: four wires instead of two")
    .addOption(
      new Option("--black <place>", "where the black probe is: on the board's own ground, or on the supply's terminal")
        .choices(["board", "supply"])
        .default("board"),
    )
    .addHelpText(
      "after",
      `
The board file names the rails, and the program names the rail to probe. It takes a value when the probe is on and the
reading is steady; when you lift the probe, it names the next rail. The board stays on during the sweep. At its longest on-time
it is switched off, cools four times as long, and is powered up again by the same stages.
The points of a group have no nominal value. At the end the program names those that differ from the others, and from good
boards of this kind if the record has any.

Type these words to steer it:
  take            the probe is on the rail (for a rail that reads nothing)
  skip            leave this rail out
  cannot-reach    the probe does not reach this rail
  redo            measure the last rail again; both values stay in the record
  volts 1.81      a value from another meter; with --cold: ohms 4.7, ohms open
  stop            end the sweep and switch off

Exit codes: 0 all visited, or stopped by you; 1 failed or cut, output off; 2 bad input, nothing touched; 3 stopped
because of the board, output off; 4 the output could not be confirmed off; 5 no instrument answered.`,
    )
    .action(async (options: SweepOptions) => {
      const { sweep } = await import("./power/sweep-run.ts");
      process.exitCode = await sweep(options);
    });
}
