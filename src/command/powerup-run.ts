import path from "node:path";
import { createInterface } from "node:readline/promises";
import { BenchFile } from "../../shared/bench-file.ts";
import { BoardFile } from "../../shared/board-file.ts";
import type { RunOutcome } from "../../shared/plan.ts";
import { ActiveRun, type RunResult } from "../daemon/active-run.ts";
import { BenchClient } from "../daemon/bench-client.ts";
import { CAUTIONS } from "../daemon/cautions.ts";
import { type PreparedRun, prepareRun, runHeader } from "../daemon/prepare-run.ts";
import { refusedDocument, runDocument } from "../daemon/run-document.ts";
import { type DataFolder, openDataFolder } from "../daemon/data-folder.ts";
import { loadDrivers } from "../instrument/load-drivers.ts";
import { checkPlanName, conditionsOf, type EnergisingOptions } from "./board-options.ts";
import { dataDirectory } from "./data-directory.ts";
import { EXIT } from "./exit-code.ts";
import { LiveLine, printDocument, say } from "./people.ts";
import { printDraw } from "./print-draw.ts";
import { readDocument } from "./read-document.ts";

/** The exit code of a run that ended, by the contract of the command line. */
export function exitCodeOfOutcome(outcome: RunOutcome): number {
  if (outcome.output === "unknown") return EXIT.outputUnknown;
  switch (outcome.ended) {
    case "as-planned":
      return EXIT.asPlanned;
    case "board-stopped":
      return EXIT.boardStopped;
    default:
      return EXIT.failed;
  }
}

export interface PowerupRunOptions extends EnergisingOptions {
  /** Handed over by `try`, in place of files. */
  documents?: { bench: BenchFile; board: BoardFile | null };
}

/** Does one power-up from the command line; answers with the exit code. */
export async function powerup(options: PowerupRunOptions): Promise<number> {
  const asks = options.json !== true && options.yes !== true;
  if (asks && !(process.stdin.isTTY && process.stderr.isTTY)) {
    say("firstamp: this is no terminal, so it cannot ask before it energises: add --json or --yes; nothing was touched");
    return EXIT.badInput;
  }
  checkPlanName(options.plan);
  const bench = options.documents?.bench ?? (await readDocument({ schema: BenchFile, what: "bench file", file: options.bench }));
  const board =
    options.documents?.board ?? (options.board === undefined ? null : await readDocument({ schema: BoardFile, what: "board file", file: options.board }));
  const drivers = await loadDrivers(options.documents === undefined ? [path.dirname(path.resolve(options.bench))] : []);
  const data = await openDataFolder(dataDirectory(options.data), { onTrouble: say });
  const client = new BenchClient({ armDirectory: data.runDirectory });
  const stopListening = cutOnSignals(client);
  try {
    const prepared = await prepareRun(client, {
      bench,
      drivers,
      board,
      coldOhms: options.ohms,
      conditions: conditionsOf(options),
      waiver: options.waive === undefined ? null : { reason: options.waive, items: null },
      watchSeconds: options.watch ?? null,
      keepOn: options.keepOn === true,
    });
    return await runPrepared({ options, asks, client, data, prepared });
  } finally {
    await client.close();
    stopListening();
    await data.close();
  }
}

/** A signal cuts first; what then ends the run is the machine's to say. A second one changes nothing. */
function cutOnSignals(client: BenchClient): () => void {
  const handlers = (["SIGINT", "SIGTERM", "SIGHUP"] as const).map((signal) => {
    const handler = (): void => client.cut(signal === "SIGINT" ? "Ctrl-C" : signal);
    process.on(signal, handler);
    return () => void process.off(signal, handler);
  });
  const crash = (cause: unknown): void => {
    client.cut("an error nobody expected");
    say(`firstamp: ${cause instanceof Error ? (cause.stack ?? cause.message) : String(cause)}`);
    void client.close().then(() => process.exit(EXIT.failed));
  };
  process.on("uncaughtException", crash);
  process.on("unhandledRejection", crash);
  return () => {
    for (const off of handlers) off();
    process.off("uncaughtException", crash);
    process.off("unhandledRejection", crash);
  };
}

async function runPrepared(context: {
  options: EnergisingOptions;
  asks: boolean;
  client: BenchClient;
  data: DataFolder;
  prepared: PreparedRun;
}): Promise<number> {
  const { options, client, data, prepared } = context;
  for (const warning of prepared.warnings) say(`note: ${warning}`);
  const waived = prepared.permit.items.filter((each) => each.waived !== null);
  if (waived.length > 0) say(`waived: ${waived.map((each) => each.asks).join("; ")}`);
  if (!prepared.permit.granted) {
    if (options.json === true) printDocument(refusedDocument(prepared.permit, prepared.request.board?.name ?? null, prepared.warnings));
    say("The permit is not granted; nothing was energised:");
    for (const because of prepared.permit.refusedBecause) say(`  - ${because}`);
    const measured = prepared.permit.items.some((each) => each.state === "measured-bad");
    if (!measured) say('Measure what is missing (--ohms, --checked …), or take it on yourself with --waive "reason".');
    return measured ? EXIT.boardStopped : EXIT.badInput;
  }
  say("Cautions:");
  for (const caution of CAUTIONS) say(`  - ${caution}`);
  if (context.asks && !(await confirmed(prepared))) {
    say("Not confirmed; nothing was energised.");
    return EXIT.badInput;
  }
  const job = options.job === undefined ? await data.store.newJob(prepared.request.board === null ? {} : { board: prepared.request.board.name }) : await data.store.findJob(options.job);
  const run = await ActiveRun.start({
    client,
    store: data.store,
    job,
    header: runHeader(prepared, "powerup"),
    armDirectory: data.runDirectory,
    confirmsRaises: context.asks,
  });
  const result = await follow(run, context);
  return finish(result, context);
}

async function confirmed(prepared: PreparedRun): Promise<boolean> {
  const feeds = prepared.plan.feeds.map((each) => `${each.feed} to ${each.nominalVolts} V at ${each.nominal.limitAmps} A`).join(", ");
  return askYesNo(`Energise ${feeds}?`);
}

async function askYesNo(question: string): Promise<boolean> {
  const terminal = createInterface({ input: process.stdin, output: process.stderr });
  // Ctrl-C at the question is a no, and a cut like any other.
  terminal.on("SIGINT", () => {
    process.emit("SIGINT");
    terminal.close();
  });
  try {
    const answer = await terminal.question(`${question} [y/N] `);
    return /^y(es)?$/i.test(answer.trim());
  } catch {
    return false;
  } finally {
    terminal.close();
  }
}

async function follow(run: ActiveRun, context: { options: EnergisingOptions; client: BenchClient; prepared: PreparedRun }): Promise<RunResult> {
  const { client, options } = context;
  const line = new LiveLine();
  const last = new Map<string, string>();
  run.on("progress", (events, progress) => {
    for (const event of events) {
      if (event.event !== "reading") continue;
      const { volts, amps, mode } = event.reading;
      const v = volts.kind === "value" ? `${volts.volts.toFixed(3)} V` : volts.kind;
      const a = amps.kind === "value" ? `${amps.amps.toFixed(3)} A` : amps.kind;
      last.set(event.reading.feed, `${event.reading.feed} ${v} ${a}${mode === "unknown" ? "" : ` ${mode.toUpperCase()}`}`);
    }
    const of = progress.expectedMs === null ? "" : ` of at most ${(progress.expectedMs / 1000).toFixed(1)} s`;
    const waited = `${(Math.max(0, progress.sinceMs) / 1000).toFixed(1)} s${of}`;
    line.show(`${progress.stage}${progress.feed === null ? "" : ` ${progress.feed}`}`, `${progress.waitingFor} (${waited})  ${[...last.values()].join("  ")}`);
  });
  client.on("alarm", ({ message }) => {
    line.end();
    say(`\u0007ALARM: ${message}`);
  });
  client.on("problem", ({ problem }) => {
    line.end();
    say(`note: ${problem.message}`);
  });
  client.on("question", (asked) => {
    line.end();
    const what =
      asked.asks === "raise-limit"
        ? `${asked.because}. Raise the limit of ${asked.feed} from ${asked.fromAmps} A to ${asked.toAmps} A, for one attempt of at most 1 s?`
        : `${asked.because}. Is ${asked.feed} switched ${asked.asks === "manual-on" ? "on" : "off"}?`;
    void askYesNo(what).then((yes) => client.answer(asked.question, yes).catch((cause: Error) => say(`note: ${cause.message}`)));
  });
  run.on("holding", (verdict) => {
    line.end();
    const outcome: RunOutcome = { ended: "as-planned", trip: null, output: "on", limitToTry: null, raises: 0, reachedStage: "watch" };
    const document = runDocument({ verdict, outcome, header: run.header, job: run.job, warnings: context.prepared.warnings });
    if (options.json === true) printDocument(document);
    else printDraw(document, say);
    say("The outputs stay on, watched. Ctrl-C switches off.");
  });
  const result = await run.done;
  line.end();
  return result;
}

function finish(result: RunResult, context: { options: EnergisingOptions; prepared: PreparedRun }): number {
  const { outcome, verdict, header, job } = result;
  const { options } = context;
  const wasHeld = header.plan.keepOn && outcome.reachedStage === "off" && outcome.trip?.rule !== "start-loop";
  const document = runDocument({ verdict, outcome, header, job, warnings: context.prepared.warnings });
  if (header.plan.keepOn && wasHeld) {
    const why = outcome.trip?.because ?? "the longest on-time was reached";
    if (options.json === true) printDocument({ event: "off", why, output: outcome.output });
    else say(`off: ${why}; output ${outcome.output}`);
  } else if (options.json === true) printDocument(document);
  else printDraw(document, (text) => void process.stdout.write(`${text}\n`));
  if (result.recordTrouble !== null) say(`The record is not whole: ${result.recordTrouble}`);
  if (outcome.output === "unknown") say("THE OUTPUT COULD NOT BE CONFIRMED OFF. Switch the supply off at its own switch.");
  const code = exitCodeOfOutcome(outcome);
  return code === EXIT.asPlanned && result.recordTrouble !== null ? EXIT.failed : code;
}
