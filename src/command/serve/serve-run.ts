import { existsSync, mkdirSync, statSync } from "node:fs";
import path from "node:path";
import { createInterface, type Interface } from "node:readline";
import { type Logger, pino } from "pino";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BenchFile } from "../../../shared/files/bench-file.ts";
import { BoardFile } from "../../../shared/files/board-file.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { RunDesk } from "../../daemon/page/run-desk.ts";
import { type DataFolder, openDataFolder } from "../../daemon/process/data-folder.ts";
import { noticeService } from "../../daemon/process/service-notice.ts";
import { CAUTIONS } from "../../daemon/run/cautions.ts";
import { loadDrivers } from "../../instrument/load-drivers.ts";
import { beginSweep } from "../../sweep/begin-sweep.ts";
import { inProgram } from "../../system/in-program.ts";
import { realClock } from "../../system/real-clock.ts";
import { startWire, type Wire } from "../../wire/start-wire.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { type Ending, type Endings, endings } from "../input/endings.ts";
import { EXIT } from "../input/exit-code.ts";
import { readDocument } from "../input/read-document.ts";
import { checkBench } from "../power/check-bench.ts";
import type { ServeOptions } from "../serve.ts";
import { SetupDesk } from "../setup/setup-desk.ts";
import { joinShop } from "../shop/join-shop.ts";
import { printAsIs, printDocument, say, sayAloud, shoutOutputUnknown } from "../text/people.ts";
import { DeskInUse } from "./desk-in-use.ts";
import { SetOnceDesk } from "./set-once-desk.ts";

/** The built page: beside this program when built, in dist/ when run from source. */
const pageDir = (): string =>
  inProgram(inProgram("").includes(`${path.sep}dist${path.sep}`) ? "../web" : "../dist/web");

/** Time enough to open the browser; each code still works only once. */
const CODE_MS = 10 * 60_000;

/** Of the log, kept in memory while the disk takes none. */
const MOST_LOG_BYTES = 64 * 1024;

export interface ServeRunOptions extends ServeOptions {
  /** Handed over by `try`, in place of files. */
  documents?: { bench: BenchFile; board: BoardFile | null };
}

/** Serves until a signal; answers with the exit code. */
export async function serve(options: ServeRunOptions): Promise<number> {
  const ending = endings();
  try {
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
    const { drivers, own: ownDrivers } = await loadDrivers(
      bench === null || options.bench === undefined
        ? null
        : { folder: path.dirname(path.resolve(options.bench)), bench },
    );
    if (bench !== null) checkBench(bench, drivers);
    const boardFile = options.board === undefined ? null : path.resolve(options.board);
    const data = await openDataFolder(dataDirectory(options.data), { onTrouble: say });
    try {
      const desk = new RunDesk({
        data,
        bench,
        drivers,
        ownDrivers,
        board,
        boardFile,
        simulated: options.documents !== undefined || bench?.simulated === true,
        beginSweep,
        clock: realClock,
      });
      const inUse = new DeskInUse(desk);
      const setup = new SetupDesk({
        inUse,
        data,
        file: options.bench,
        mayChange: bench === null,
        drivers,
        board,
        boardFile,
        onTrouble: say,
      });
      inUse.setup = setup;
      const setOnce = new SetOnceDesk({
        directory: data.directory,
        store: data.store,
        jobs: inUse.jobsForPage,
        onChange: (set) => inUse.tell({ type: "set-once", set }),
      });
      inUse.setOnce = setOnce;
      const noMore = setOnce.follow();
      try {
        return await serveDesk({ desk: inUse, setup, data, options, ending });
      } finally {
        noMore();
      }
    } finally {
      await data.close();
    }
  } finally {
    ending.release();
  }
}

async function serveDesk(of: {
  desk: DeskInUse;
  setup: SetupDesk;
  data: DataFolder;
  options: ServeRunOptions;
  ending: Endings;
}): Promise<number> {
  const { desk, setup, data, options, ending } = of;
  const log = openLog(data.directory);
  const shop = joinShop(data.store, (sentence) => log.warn(sentence));
  // A rehearsal is nothing to tell the shop of.
  desk.subscribe((message) => {
    if (!setup.isRehearsing) shop.take(message);
  });
  desk.shop = () => shop.look();
  let unknown = false;
  desk.subscribe((message) => {
    if (message.type === "log") log[message.line.level](message.line.text);
    if (message.type !== "alarm") return;
    unknown = message.alarm !== null;
    if (message.alarm !== null) sayAloud(`ALARM: ${message.alarm.message}`);
  });
  ending.again.add(({ by }) => void desk.cut(by));
  let ended: Ending | null = null;
  try {
    await desk.desk.open();
    const wire = await startWire({
      facade: desk,
      pageDir: pageDir(),
      port: options.port,
      ...(options.phoneListen === undefined ? {} : { phone: options.phoneListen }),
      ...(data.runFolderProblem === null ? { tokenFile: path.join(data.runDirectory, "token") } : {}),
      codeLifetimeMs: CODE_MS,
      log,
    }).catch((cause: unknown) => {
      // The address to listen on is what a person chose; an instrument's port in use is another matter.
      throw cause instanceof BenchError ? new BenchError("bad-input", cause.message, { cause }) : cause;
    });
    // Not waited for: the page says what is not there yet.
    desk.desk.connect();
    const keys = greet(wire, options);
    const ends = noticeService();
    ended = await ending.first;
    ends();
    keys?.close();
    // Off first; the pages hear of it before they lose the daemon.
    await setup.close();
    await wire.close();
  } finally {
    await setup.close();
    await shop.close();
  }
  if (ended.error !== null) {
    log.fatal(ended.error);
    say(`firstamp: ${ended.error instanceof Error ? (ended.error.stack ?? ended.error.message) : String(ended.error)}`);
  } else if (options.json !== true) say(`Ended by ${ended.by}${unknown ? "" : "; nothing is on"}.`);
  if (unknown) shoutOutputUnknown();
  return unknown ? EXIT.outputUnknown : ended.error === null ? EXIT.asPlanned : EXIT.failed;
}

/** The daemon's own log, `DATA/log/daemon.jsonl`; a disk that cannot take it keeps nobody from the bench. */
function openLog(directory: string): Logger {
  const dest = path.join(directory, "log", "daemon.jsonl");
  try {
    mkdirSync(path.dirname(dest), { recursive: true, mode: 0o700 });
    // A pipe without a reader would keep the program at its opening.
    if (existsSync(dest) && !statSync(dest).isFile()) throw new Error("it is not a plain file");
    // Written at once: what waits in memory is written at the exit, over and over where the disk is full, without an end.
    const file = pino.destination({ dest, sync: true, mode: 0o600, maxLength: MOST_LOG_BYTES });
    file.on("error", () => undefined);
    return pino({ level: "info" }, file);
  } catch (cause) {
    say(`note: no log is written: ${quoted(dest)} cannot be written (${messageOf(cause)}); everything else works`);
    return pino({ enabled: false });
  }
}

/** Says where the page is; on a terminal, Enter says it again with a new code. */
function greet(wire: Wire, options: ServeRunOptions): Interface | null {
  // A demonstration has shown them with its power-up already.
  if (options.documents === undefined) {
    say("Cautions:");
    for (const caution of CAUTIONS) say(`  - ${caution}`);
  }
  // No output is handed over, so the terminal stays as it is and Ctrl-C stays a signal.
  const keys = process.stdin.isTTY ? createInterface({ input: process.stdin }) : null;
  say(
    `\nOpen this address in a browser on this machine. It works once, within ten minutes${keys === null ? "" : "; press Enter for another"}. Ctrl-C cuts all outputs and ends.\n`,
  );
  const phone = wire.phoneAddresses;
  if (phone.length > 0) say(`Phones send photographs to ${phone.join(" or ")}, with a code that the page shows.\n`);
  if (options.json === true) printDocument({ url: wire.url, ...(phone.length === 0 ? {} : { phone }) });
  else printAsIs(`${wire.url}\n`);
  keys?.on("line", () => printAsIs(`${wire.newUrl()}\n`));
  return keys;
}
