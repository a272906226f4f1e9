import { Command } from "commander";
import type { NullLeadsOptions } from "./power/null-leads-run.ts";

/** `firstamp null-leads`: keeps what the meter's own leads read, to be taken off ohms. */
export function nullLeadsCommand(): Command {
  return new Command("null-leads")
    .description("hold the meter's probes together: what they read is kept, and taken off two-wire ohms from then on")
    .requiredOption("--bench <file>", "the bench file; its meter's leads are meant")
    .option("--job <id>", "file it with this job too")
    .option("--data <dir>", "where it is kept (else FIRSTAMP_DATA, else the system's place for data)")
    .option("--json", "print one JSON document")
    .addHelpText(
      "after",
      `
Energises nothing; the outputs of the bench file's feeds must be off, and one found on is switched off. Refused, and the null
from before stays, where the probes read more than 2 Ω or do not keep still. Do it again with other leads and each morning:
its age is said with each sweep.

Example:
  firstamp null-leads --bench bench.json

Exit codes: 0 kept; 1 the bench failed; 2 bad input, or no lead null; 4 an output could not be confirmed off; 5 no
instrument answered.`,
    )
    .action(async (options: NullLeadsOptions) => {
      const { nullLeads } = await import("./power/null-leads-run.ts");
      process.exitCode = await nullLeads(options);
    });
}
