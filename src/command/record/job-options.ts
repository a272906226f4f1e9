import { Command } from "commander";

/** The options every job command has. */
export interface JobOptions {
  data?: string;
  json?: boolean;
}

/** A job command with its shared options. */
export function jobSubcommand(name: string, description: string): Command {
  return new Command(name)
    .description(description)
    .option("--data <dir>", "data directory (else FIRSTAMP_DATA, else the system's usual place)")
    .option("--json", "print one JSON document on standard output")
    .addHelpText("after", "\nExit codes: 0 done; 1 failed; 2 bad input, nothing changed.");
}
