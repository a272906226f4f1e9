import { isIP } from "node:net";
import { Command, InvalidArgumentError } from "commander";
import { takesRemembered } from "./input/take-remembered.ts";

export interface ServeOptions {
  bench?: string;
  board?: string;
  data?: string;
  port: number;
  phoneListen?: { host: string; port: number };
  json?: boolean;
}

function parsePort(text: string): number {
  const port = Number(text);
  if (!Number.isInteger(port) || port < 0 || port > 65_535)
    throw new InvalidArgumentError("it should be a port, 0 to 65535 (0 picks a free one).");
  return port;
}

/** An address of this machine and a port: 192.168.1.20:8123, 0.0.0.0:8123, [::]:8123. */
function parseAddress(text: string): { host: string; port: number } {
  const [, host = "", port = ""] = /^\[?([0-9a-fA-F.:]+?)\]?:(\d+)$/.exec(text) ?? [];
  const isBracketed = text.startsWith("[") === (isIP(host) === 6);
  if (isIP(host) === 0 || !isBracketed || Number(port) > 65_535)
    throw new InvalidArgumentError(
      `${JSON.stringify(text)} came; it should be an address of this machine and a port, as 192.168.1.20:8123, or 0.0.0.0:8123 for every address it has.`,
    );
  return { host, port: Number(port) };
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
    .option(
      "--phone-listen <address:port>",
      "let a phone send photographs there, by a code that the page shows; nothing else is served there. Off by default",
      parseAddress,
    )
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
