import path from "node:path";
import { BenchError } from "../../shared/bench-error.ts";
import { BenchFile } from "../../shared/bench-file.ts";
import { BoardFile } from "../../shared/board-file.ts";
import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { RunOutcome } from "../../shared/plan.ts";
import { ActiveRun } from "../daemon/active-run.ts";
import { BenchClient } from "../daemon/bench-client.ts";
import { CAUTIONS } from "../daemon/cautions.ts";
import { cutAnew } from "../daemon/cut-anew.ts";
import { type DataFolder, openDataFolder } from "../daemon/data-folder.ts";
import { type PreparedRun, prepareRun, runHeader } from "../daemon/prepare-run.ts";
import { runDocument, unpoweredDocument } from "../daemon/run-document.ts";
import { loadDrivers } from "../instrument/load-drivers.ts";
import { askYesNo } from "./ask-yes-no.ts";
import { checkPlanName, conditionsOf, type EnergisingOptions } from "./board-options.ts";
import { checkBench } from "./check-bench.ts";
import { dataDirectory } from "./data-directory.ts";
import { EXIT, exitCodeOf, exitCodeOfOutcome } from "./exit-code.ts";
import { type FollowedRun, followRun } from "./follow-run.ts";
import { print, printDocument, say, shoutOutputUnknown } from "./people.ts";
import { printDraw } from "./print-draw.ts";
import { readDocument } from "./read-document.ts";
import { cutOnSignals, type StopWish } from "./stop-wish.ts";

export interface PowerupRunOptions extends EnergisingOptions {
  /** Handed over by `try`, in place of files. */
  documents?: { bench: BenchFile; board: BoardFile | null };
}

/** Does one power-up from the command line; answers with the exit code. */
export async function powerup(options: PowerupRunOptions): Promise<number> {
  const asks = options.json !== true && options.yes !== true;
  if (asks && !(process.stdin.isTTY && process.stderr.isTTY)) {
    say(
      "firstamp: this is no terminal, so it cannot ask before it energises: add --json or --yes; nothing was touched",
    );
    return EXIT.badInput;
  }
  checkPlanName(options.plan);
  const bench =
    options.documents?.bench ?? (await readDocument({ schema: BenchFile, what: "bench file", file: options.bench }));
  const board =
    options.documents?.board ??
    (options.board === undefined
      ? null
      : await readDocument({ schema: BoardFile, what: "board file", file: options.board }));
  const drivers = await loadDrivers(options.documents === undefined ? [path.dirname(path.resolve(options.bench))] : []);
  checkBench(bench, drivers);
  const data = await openDataFolder(dataDirectory(options.data), { onTrouble: say });
  const client = new BenchClient({ armDirectory: data.runDirectory });
  const stop = cutOnSignals(client);
  try {
    // A job that is not there is found out before an instrument is opened.
    const job = options.job === undefined ? null : await data.store.findJob(options.job);
    let prepared: PreparedRun;
    try {
      prepared = await prepareRun(client, {
        bench,
        drivers,
        board,
        coldOhms: options.ohms,
        conditions: conditionsOf(options),
        waiver: options.waive === undefined ? null : { reason: options.waive, items: null },
        watchSeconds: options.watch ?? null,
        keepOn: options.keepOn === true,
      });
    } catch (cause) {
      return notPrepared(cause, stop);
    }
    return await runPrepared({ options, asks, client, data, stop, job, prepared });
  } finally {
    await client.close();
    stop.release();
    await data.close();
  }
}

/** What came in the way before there was a permit to look at. */
function notPrepared(cause: unknown, stop: StopWish): number {
  if (!(cause instanceof BenchError)) throw cause;
  const code = exitCodeOf(cause);
  say(`firstamp: ${cause.message}`);
  if (code === EXIT.outputUnknown) {
    shoutOutputUnknown();
    return code;
  }
  say(`${stop.by === null ? "N" : `Stopped by ${stop.by}; n`}othing was energised.`);
  return stop.by === null ? code : EXIT.failed;
}

interface RunContext {
  options: EnergisingOptions;
  asks: boolean;
  client: BenchClient;
  data: DataFolder;
  stop: StopWish;
  job: string | null;
  prepared: PreparedRun;
}

async function runPrepared(context: RunContext): Promise<number> {
  const { client, data, stop, prepared } = context;
  for (const warning of prepared.warnings) say(`note: ${warning}`);
  const waived = prepared.permit.items.filter((each) => each.waived !== null);
  if (waived.length > 0) say(`waived: ${waived.map((each) => each.asks).join("; ")}`);
  if (!prepared.permit.granted) return refused(context);
  say("Cautions:");
  for (const caution of CAUTIONS) say(`  - ${caution}`);
  const confirmed = !context.asks || stop.by !== null || (await askYesNo(energiseQuestion(prepared), stop.signal));
  if (stop.by !== null) return stopped(context, stop.by);
  if (!confirmed) {
    say("Not confirmed; nothing was energised.");
    return EXIT.badInput;
  }
  const board = prepared.request.board;
  const job = context.job ?? (await data.store.newJob(board === null ? {} : { board: board.name }));
  if (stop.by !== null) return stopped(context, stop.by);
  let run: ActiveRun;
  try {
    run = await ActiveRun.start({
      client,
      store: data.store,
      job,
      header: runHeader(prepared, "powerup"),
      armDirectory: data.runDirectory,
      confirmsRaises: context.asks,
      cutAnew: () =>
        cutAnew({
          bench: prepared.request.bench,
          drivers: prepared.request.drivers,
          feeds: prepared.feeds.map((each) => each.feed),
          armDirectory: data.runDirectory,
        }),
    });
  } catch (cause) {
    if (stop.by === null || exitCodeOf(cause) === EXIT.outputUnknown) throw cause;
    return stopped(context, stop.by);
  }
  // A signal that came while the run was being started may have found nothing to cut.
  if (stop.by !== null) client.cut(stop.by);
  return finish(
    await followRun({ run, client, onHolding: (verdict, outcome) => held(context, run, verdict, outcome) }),
    context,
  );
}

const energiseQuestion = ({ plan }: PreparedRun): string =>
  `Energise ${plan.feeds.map((each) => `${each.feed} to ${each.nominalVolts} V at ${each.nominal.limitAmps} A`).join(", ")}?`;

/** The permit says no: by what was measured it is the board's doing, otherwise a person has not said enough. */
function refused({ options, prepared }: RunContext): number {
  const { permit, warnings } = prepared;
  const isMeasured = permit.items.some((each) => each.state === "measured-bad");
  if (options.json === true) {
    printDocument(
      unpoweredDocument({
        because: ["the permit was not granted", ...permit.refusedBecause],
        ended: isMeasured ? "board-stopped" : "failed",
        permit,
        board: prepared.request.board?.name ?? null,
        warnings,
      }),
    );
  }
  say("The permit is not granted; nothing was energised:");
  for (const because of permit.refusedBecause) say(`  - ${because}`);
  if (!isMeasured) say('Measure what is missing (--ohms, --checked …), or take it on yourself with --waive "reason".');
  return isMeasured ? EXIT.boardStopped : EXIT.badInput;
}

function stopped({ options, prepared }: RunContext, by: string): number {
  const { permit, warnings, request } = prepared;
  if (options.json === true) {
    printDocument(
      unpoweredDocument({
        because: [`stopped by ${by}`],
        ended: "stopped-by-person",
        permit,
        board: request.board?.name ?? null,
        warnings,
      }),
    );
  }
  say(`Stopped by ${by}; nothing was energised.`);
  return EXIT.failed;
}

function held({ options, prepared }: RunContext, run: ActiveRun, verdict: DrawVerdict, outcome: RunOutcome): void {
  const document = runDocument({ verdict, outcome, header: run.header, job: run.job, warnings: prepared.warnings });
  if (options.json === true) printDocument(document);
  else printDraw(document, print);
  say("The outputs stay on, watched. Ctrl-C switches off.");
}

function finish({ result, wasHeld }: FollowedRun, { options, prepared, stop }: RunContext): number {
  const { outcome, verdict, header, job } = result;
  if (wasHeld) {
    const asked = stop.by === null ? "the longest on-time was reached" : `stopped by ${stop.by}`;
    const why = outcome.trip?.because ?? asked;
    if (options.json === true) printDocument({ event: "off", why, output: outcome.output });
    else print(`off: ${why}; output ${outcome.output}`);
  } else {
    const document = runDocument({ verdict, outcome, header, job, warnings: prepared.warnings });
    if (options.json === true) printDocument(document);
    else printDraw(document, print);
  }
  if (result.recordTrouble !== null) say(`The record is not whole: ${result.recordTrouble}`);
  if (outcome.output === "unknown") shoutOutputUnknown();
  const code = exitCodeOfOutcome(outcome, wasHeld);
  return code === EXIT.asPlanned && result.recordTrouble !== null ? EXIT.failed : code;
}
