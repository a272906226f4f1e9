import { mkdirSync } from "node:fs";
import path from "node:path";
import { createInterface } from "node:readline";
import { fileURLToPath } from "node:url";
import { pino } from "pino";
import { BenchError } from "../../shared/bench-error.ts";
import { BenchFile } from "../../shared/bench-file.ts";
import { BoardFile } from "../../shared/board-file.ts";
import { BenchDesk } from "../daemon/bench-desk.ts";
import { CAUTIONS } from "../daemon/cautions.ts";
import { openDataFolder } from "../daemon/data-folder.ts";
import { loadDrivers } from "../instrument/load-drivers.ts";
import { startWire, type Wire } from "../wire/start-wire.ts";
import { checkBench } from "./check-bench.ts";
import { dataDirectory } from "./data-directory.ts";
import { EXIT } from "./exit-code.ts";
import { printDocument, say } from "./people.ts";
import { readDocument } from "./read-document.ts";
import type { ServeOptions } from "./serve.ts";

/** The built page: beside this program when built, in dist/ when run from source. */
const pageDir = (): string => {
  const here = path.dirname(fileURLToPath(import.meta.url));
  return here.includes(`${path.sep}dist${path.sep}`)
    ? path.resolve(here, "../../web")
    : path.resolve(here, "../../dist/web");
};

/** Long enough to fetch a coffee while the first start builds; a code is good once all the same. */
const CODE_MS = 10 * 60_000;

/** Settles at the first signal that asks to end. */
function asked(): Promise<string> {
  return new Promise((resolve) => {
    for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) process.on(signal, () => resolve(signal));
  });
}

export interface ServeRunOptions extends ServeOptions {
  /** Handed over by `try`, in place of files. */
  documents?: { bench: BenchFile; board: BoardFile | null };
}

/** Serves until a signal; answers with the exit code. */
export async function serve(options: ServeRunOptions): Promise<number> {
  const ended = asked();
  const bench =
    options.documents?.bench ??
    (options.bench === undefined
      ? null
      : await readDocument({ schema: BenchFile, what: "bench file", file: options.bench }));
  const board =
    options.documents?.board ??
    (options.board === undefined
      ? null
      : await readDocument({ schema: BoardFile, what: "board file", file: options.board }));
  const drivers = await loadDrivers(options.bench === undefined ? [] : [path.dirname(path.resolve(options.bench))]);
  if (bench !== null) checkBench(bench, drivers);
  const data = await openDataFolder(dataDirectory(options.data), { onTrouble: say });
  let unknown = false;
  try {
    const logDirectory = path.join(data.directory, "log");
    mkdirSync(logDirectory, { recursive: true });
    const log = pino(
      { level: "info" },
      pino.destination({ dest: path.join(logDirectory, "daemon.jsonl"), sync: false }),
    );
    const desk = new BenchDesk({ data, bench, drivers, board, simulated: options.documents !== undefined });
    desk.subscribe((message) => {
      if (message.type === "log") log[message.line.level](message.line.text);
      if (message.type === "outcome") unknown = message.outcome.output === "unknown";
      if (message.type === "alarm" && message.alarm !== null) say(`\u0007ALARM: ${message.alarm.message}`);
    });
    let wire: Wire | undefined;
    try {
      await desk.open();
      const served = await startWire({
        facade: desk,
        pageDir: pageDir(),
        port: options.port,
        tokenFile: path.join(data.runDirectory, "token"),
        codeLifetimeMs: CODE_MS,
        log,
      });
      wire = served;
      if (options.json === true) printDocument({ url: served.url });
      else process.stdout.write(`${served.url}\n`);
      for (const caution of CAUTIONS) say(`  - ${caution}`);
      // No output is handed over, so the terminal stays as it is and Ctrl-C stays a signal.
      const keys = process.stdin.isTTY ? createInterface({ input: process.stdin }) : null;
      keys?.on("line", () => process.stdout.write(`${served.newUrl()}\n`));
      say(
        `Open the address above in a browser on this machine: once, within ten minutes.${keys === null ? "" : " Enter prints another."} Ctrl-C cuts and ends.`,
      );
      await ended;
      keys?.close();
    } catch (cause) {
      // The address to listen on is what a person chose; an instrument's port is told by the desk.
      if (!(cause instanceof BenchError) || wire !== undefined) throw cause;
      say(`firstamp: ${cause.message}`);
      return EXIT.badInput;
    } finally {
      await desk.close();
      await wire?.close();
    }
  } finally {
    await data.close();
  }
  return unknown ? EXIT.outputUnknown : EXIT.asPlanned;
}
