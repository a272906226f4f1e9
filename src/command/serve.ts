import { Command, InvalidArgumentError } from "commander";
import { takesRemembered } from "./input/take-remembered.ts";

export interface ServeOptions {
  bench?: string;
  board?: string;
  data?: string;
  port: number;
  json?: boolean;
}

function parsePort(text: string): number {
  const port = Number(text);
  if (!Number.isInteger(port) || port < 0 || port > 65_535)
    throw new InvalidArgumentError("it should be a port, 0 to 65535 (0 picks a free one).");
  return port;
}

/** `firstamp serve`: the daemon and its page, on this machine only. */
export function serveCommand(): Command {
  const command = new Command("serve")
    .description(
      "serve the page on this machine (127.0.0.1 only); without --bench the page finds instruments and writes a bench file",
    )
    .option("--bench <file>", "bench file")
    .option("--board <file>", "board file")
    .option("--data <dir>", "data directory (else FIRSTAMP_DATA, else the system's usual place)")
    .option("--port <n>", "port; 0, the default, picks a free one", parsePort, 0)
    .option("--json", 'print { "url": … } as the first line')
    .addHelpText(
      "after",
      "\nThe printed address works once, within ten minutes; on a terminal, Enter prints another. Ctrl-C cuts all outputs and ends.\nExit codes: 0 ended; 2 bad input, nothing touched; 4 the output could not be confirmed off.",
    )
    .action(async (options: ServeOptions) => {
      const { serve } = await import("./serve/serve-run.ts");
      process.exitCode = await serve(options);
    });
  return takesRemembered(command);
}
