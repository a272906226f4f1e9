import path from "node:path";
import { BenchFile } from "../../../shared/files/bench-file.ts";
import { BoardFile } from "../../../shared/files/board-file.ts";
import type { DriverFile, OwnDrivers } from "../../../shared/files/driver-file.ts";
import { BenchProcess } from "../../daemon/process/bench-process.ts";
import { type DataFolder, openDataFolder } from "../../daemon/process/data-folder.ts";
import { loadDrivers } from "../../instrument/load-drivers.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { EXIT } from "../input/exit-code.ts";
import { readDocument } from "../input/read-document.ts";
import { type JoinedShop, joinShop } from "../shop/join-shop.ts";
import { say } from "../text/people.ts";
import { checkPlanName, type EnergisingOptions } from "./board-options.ts";
import { checkBench } from "./check-bench.ts";
import { cutOnSignals, type StopWish } from "./stop-wish.ts";

/** The files of a command that uses the bench, read and checked, and the bench process, started. */
export interface OpenBench {
  bench: BenchFile;
  board: BoardFile | null;
  drivers: DriverFile[];
  ownDrivers: OwnDrivers;
  data: DataFolder;
  client: BenchProcess;
  stop: StopWish;
  shop: JoinedShop;
  /** The job asked for, found; null for a new one. */
  job: string | null;
}

export interface BenchOptions extends EnergisingOptions {
  /** Handed over by `try`, in place of files. */
  documents?: { bench: BenchFile; board: BoardFile | null };
}

/** The options that say where files and folders are. */
type FileOptions = Pick<BenchOptions, "bench" | "board" | "plan" | "job" | "data" | "documents">;

/** Whether a person is asked before the board is energised. */
export const asksFirst = (options: EnergisingOptions): boolean => options.json !== true && options.yes !== true;

/** The exit code of a command that would have to ask and cannot; null where it can, or need not. */
export function cannotAsk(options: EnergisingOptions): number | null {
  if (!asksFirst(options) || (process.stdin.isTTY && process.stderr.isTTY)) return null;
  say(
    "firstamp: this is not a terminal, so it cannot ask before it energises: add --json or --yes; nothing was touched",
  );
  return EXIT.badInput;
}

/**
 * Reads the files, opens the record and starts the bench process, does the work, and ends all of it whatever comes. A
 * signal cuts from the first moment on. Throws BenchError for what can be refused before an instrument is opened.
 */
export async function withBench(options: FileOptions, work: (open: OpenBench) => Promise<number>): Promise<number> {
  checkPlanName(options.plan);
  const bench =
    options.documents?.bench ?? (await readDocument({ schema: BenchFile, what: "bench file", file: options.bench }));
  const board =
    options.documents?.board ??
    (options.board === undefined
      ? null
      : await readDocument({ schema: BoardFile, what: "board file", file: options.board }));
  const { drivers, own: ownDrivers } = await loadDrivers(
    options.documents === undefined ? { folder: path.dirname(path.resolve(options.bench)), bench } : null,
  );
  checkBench(bench, drivers);
  const data = await openDataFolder(dataDirectory(options.data), { onTrouble: say });
  const client = new BenchProcess({ armDirectory: data.runDirectory });
  const stop = cutOnSignals(client);
  const shop = joinShop(data.store, say);
  try {
    // A job that is not there is found out before an instrument is opened.
    const job = options.job === undefined ? null : await data.store.findJob(options.job);
    return await work({ bench, board, drivers, ownDrivers, data, client, stop, shop, job });
  } finally {
    await client.close();
    stop.release();
    await shop.close();
    await data.close();
  }
}
