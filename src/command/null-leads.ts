import { Command } from "commander";
import { takesRemembered } from "./input/take-remembered.ts";
import type { NullLeadsOptions } from "./power/null-leads-run.ts";

/** `firstamp null-leads`: keeps what the meter's own leads read, to be taken off ohms. */
export function nullLeadsCommand(): Command {
  const command = new Command("null-leads")
    .description(
      "hold the meter's probes together: their reading is stored and subtracted from two-wire ohms from then on",
    )
    .option("--bench <file>", "the bench file with the meter whose leads are nulled")
    .option("--job <id>", "also file it with this job")
    .option("--data <dir>", "where it is stored (else FIRSTAMP_DATA, else the system's place for data)")
    .option("--json", "print one JSON document")
    .addHelpText(
      "after",
      `
Nothing is energised. The outputs of the bench file's feeds must be off; an output found on is switched off. If the probes
read more than 2 Ω or the reading is unsteady, the new value is refused and the previous one stays. Repeat it every morning
and after changing leads: each sweep shows the age of the value.

Example:
  firstamp null-leads --bench bench.json

Exit codes: 0 stored; 1 the bench failed; 2 bad input, or the reading was refused; 4 an output could not be confirmed off; 5 no
instrument answered.`,
    )
    .action(async (options: NullLeadsOptions) => {
      const { nullLeads } = await import("./power/null-leads-run.ts");
      process.exitCode = await nullLeads(options);
    });
  return takesRemembered(command, { needs: { name: "bench", flags: "--bench <file>" } });
}
