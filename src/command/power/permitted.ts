import { BenchError } from "../../../shared/bench-error.ts";
import type { RunOutcome } from "../../../shared/plan.ts";
import type { RunHeader, RunPurpose } from "../../../shared/record/run-record.ts";
import { cutAnew } from "../../daemon/process/cut-anew.ts";
import { ActiveRun } from "../../daemon/run/active-run.ts";
import { cautionsBefore } from "../../daemon/run/cautions.ts";
import { coldOfJob, fileTypedCold } from "../../daemon/run/job-cold.ts";
import { type PreparedRun, prepareRun, runHeader } from "../../daemon/run/prepare-run.ts";
import { driversInWords, readinessInWords } from "../../daemon/run/readiness.ts";
import type { RunRequest } from "../../daemon/run/run-request.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { runsOf } from "../../job/store/runs-of.ts";
import { EXIT, exitCodeOf } from "../input/exit-code.ts";
import { publishRun } from "../shop/publish-run.ts";
import { say, shoutOutputUnknown } from "../text/people.ts";
import { askYesNo } from "./ask-yes-no.ts";
import { conditionsOf, type EnergisingOptions } from "./board-options.ts";
import type { StopWish } from "./stop-wish.ts";
import { asksFirst, type OpenBench } from "./with-bench.ts";

/** Why nothing was energised, for whoever prints a document about it. */
export interface NotPowered {
  because: string[];
  ended: RunOutcome["ended"];
}

export interface PermittedOptions {
  options: EnergisingOptions;
  /** Laid over what the options ask for. */
  wish?: Partial<Pick<RunRequest, "keepOn" | "watchSeconds" | "task">>;
  /** In place of the question about every feed. */
  question?: (prepared: PreparedRun) => string;
  /** Cautions of this command's own, before the general ones. */
  cautions?: readonly string[];
  /** Called before an exit code where there was a permit to look at. */
  onNotPowered: (why: NotPowered, prepared: PreparedRun) => void;
}

/**
 * Everything between the files and the first volt: instruments connected, the permit looked at, cautions shown, the person
 * asked where there is one. Answers with what may now be energised, or with the exit code where nothing may.
 */
export async function permitted(open: OpenBench, of: PermittedOptions): Promise<PreparedRun | number> {
  const { options } = of;
  const { bench, board, drivers, ownDrivers, client, stop } = open;
  let prepared: PreparedRun;
  try {
    prepared = await prepareRun(client, {
      bench,
      drivers,
      ownDrivers,
      board,
      coldOhms: options.ohms,
      fourWire: options.ohmsFourWire ?? [],
      boardCelsius: options.boardCelsius ?? null,
      filedCold: await coldOfJob(open.data.store, open.job, options.boardCelsius ?? null),
      conditions: conditionsOf(options),
      waiver: options.waive === undefined ? null : { reason: options.waive, items: null },
      watchSeconds: options.watch ?? null,
      keepOn: options.keepOn === true,
      ...of.wish,
    });
  } catch (cause) {
    return notPrepared(cause, stop);
  }
  // Filed whatever comes of the permit: a reading that forbids power is evidence too.
  if (open.job !== null) await fileTypedCold(open.data.store, open.job, prepared.request);
  for (const warning of prepared.warnings) say(`note: ${warning}`);
  if (options.verbose === true) {
    say(driversInWords(prepared));
    say(readinessInWords(prepared));
  }
  const waived = prepared.permit.items.filter((each) => each.waived !== null);
  if (waived.length > 0) say(`waived: ${waived.map((each) => each.asks).join("; ")}`);
  if (!prepared.permit.granted) return refused(prepared, of);
  say("Cautions:");
  const wasShown = open.job !== null && (await ranToday(open.data.store, open.job));
  for (const caution of cautionsBefore(of.cautions ?? [], wasShown)) say(`  - ${caution}`);
  const asks = asksFirst(options);
  const confirmed =
    !asks || stop.by !== null || (await askYesNo((of.question ?? energiseQuestion)(prepared), stop.signal));
  if (stop.by !== null) return stoppedBefore(prepared, of, stop.by);
  if (!confirmed) {
    say("Not confirmed; nothing was energised.");
    return EXIT.badInput;
  }
  return prepared;
}

/** Whether a run of this job was begun on this day already: its cautions were shown then. */
async function ranToday(store: JobStore, job: string): Promise<boolean> {
  const today = new Date().toDateString();
  return runsOf(await store.events(job)).some(({ header }) => new Date(header.startedAt).toDateString() === today);
}

/** The obstacle before there was a permit to look at. */
export function notPrepared(cause: unknown, stop: StopWish): number {
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

export const energiseQuestion = ({ plan }: PreparedRun): string =>
  `Energise ${plan.feeds.map((each) => `${each.feed} to ${each.nominalVolts} V at ${each.nominal.limitAmps} A`).join(", ")}?`;

/** The permit says no: by what was measured it is the board's doing, otherwise a person has not said enough. */
function refused(prepared: PreparedRun, { onNotPowered }: PermittedOptions): number {
  const { permit } = prepared;
  const isMeasured = permit.items.some((each) => each.state === "measured-bad");
  onNotPowered(
    {
      because: ["the permit was not granted", ...permit.refusedBecause],
      ended: isMeasured ? "board-stopped" : "failed",
    },
    prepared,
  );
  say("The permit is not granted; nothing was energised:");
  for (const because of permit.refusedBecause) say(`  - ${because}`);
  if (!isMeasured)
    say('Measure what is missing (--ohms, --checked …), or take the responsibility with --waive "reason".');
  return isMeasured ? EXIT.boardStopped : EXIT.badInput;
}

/** A person stopped it before anything was energised. */
export function stoppedBefore(
  prepared: PreparedRun,
  { onNotPowered }: Pick<PermittedOptions, "onNotPowered">,
  by: string,
): number {
  onNotPowered({ because: [`stopped by ${by}`], ended: "stopped-by-person" }, prepared);
  say(`Stopped by ${by}; nothing was energised.`);
  return EXIT.failed;
}

/** The job the runs are filed with: the one asked for, or a new one, which begins with the readings typed in. */
export async function jobFor({ data, job }: OpenBench, { request }: PreparedRun): Promise<string> {
  if (job !== null) return job;
  const made = await data.store.newJob(request.board === null ? {} : { board: request.board.name });
  await fileTypedCold(data.store, made, request);
  return made;
}

/** Begins a run of what was permitted; each call files a run of its own. Throws as `ActiveRun.start`. */
export async function startPermitted(
  { client, data, shop }: OpenBench,
  prepared: PreparedRun,
  of: { job: string; purpose: RunPurpose; confirmsRaises: boolean },
): Promise<ActiveRun> {
  const header: RunHeader = runHeader(prepared, of.purpose);
  return await ActiveRun.start({
    client,
    store: data.store,
    job: of.job,
    header,
    armDirectory: data.runDirectory,
    confirmsRaises: of.confirmsRaises,
    onBegin: (run) => publishRun(run, shop),
    cutAnew: () =>
      cutAnew({
        bench: prepared.request.bench,
        drivers: prepared.request.drivers,
        ownDrivers: prepared.request.ownDrivers ?? {},
        feeds: prepared.feeds.map((each) => each.feed),
        armDirectory: data.runDirectory,
      }),
  });
}
