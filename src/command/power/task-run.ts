import type { Permit } from "../../../shared/permit.ts";
import type { RunPurpose } from "../../../shared/record/run-record.ts";
import type { ActiveRun, RunResult } from "../../daemon/run/active-run.ts";
import type { PreparedRun } from "../../daemon/run/prepare-run.ts";
import { type RunDocument, runDocument, unpoweredDocument } from "../../daemon/run/run-document.ts";
import type { RunRequest } from "../../daemon/run/run-request.ts";
import { EXIT, exitCodeOf, exitCodeOfOutcome } from "../input/exit-code.ts";
import { print, printDocument, say, shoutOutputUnknown } from "../text/people.ts";
import { printDraw } from "../text/print-draw.ts";
import { type FollowedRun, followRun } from "./follow-run.ts";
import { jobFor, type NotPowered, permitted, startPermitted, stoppedBefore } from "./permitted.ts";
import { asksFirst, type BenchOptions, cannotAsk, type OpenBench, withBench } from "./with-bench.ts";

/** The differences between kinds of run on the command line. `More` is what its document has beside a power-up's. */
export interface Task<More> {
  purpose: RunPurpose;
  wish?: Partial<Pick<RunRequest, "keepOn" | "watchSeconds" | "task">>;
  cautions?: readonly string[];
  question?: (prepared: PreparedRun) => string;
  raiseText?: Parameters<typeof followRun>[0]["raiseText"];
  /** Called once the files are read and nothing is touched yet; may throw BenchError. */
  onOpen?: (open: OpenBench) => void;
  /** Shows what has come of the run while it lasts; answers with whether it said something. */
  onNews?: (run: ActiveRun, energised: readonly string[]) => boolean;
  /** The fields that the document has beside a power-up's; null where nothing was energised. */
  more: (ended: EndedTask | null) => More;
  /** The end for a person, in place of a power-up's. */
  print?: (document: RunDocument & More) => void;
}

export interface EndedTask {
  result: Pick<RunResult, "outcome" | "verdict" | "header" | "notes">;
  run: ActiveRun;
  stoppedBy: string | null;
}

/** Does one run of this kind from the command line; answers with the exit code. */
export async function runTask<More extends object>(options: BenchOptions, task: Task<More>): Promise<number> {
  return cannotAsk(options) ?? (await withBench(options, (open) => taskOn(open, options, task)));
}

interface Context<More> {
  options: BenchOptions;
  open: OpenBench;
  prepared: PreparedRun;
  task: Task<More>;
}

async function taskOn<More extends object>(open: OpenBench, options: BenchOptions, task: Task<More>): Promise<number> {
  const onNotPowered = (why: NotPowered, prepared: PreparedRun): void => {
    if (options.json === true) printDocument({ ...notPowered(why, prepared), ...task.more(null) });
  };
  task.onOpen?.(open);
  const { wish, cautions, question } = task;
  const prepared = await permitted(open, {
    options,
    onNotPowered,
    ...(wish === undefined ? {} : { wish }),
    ...(cautions === undefined ? {} : { cautions }),
    ...(question === undefined ? {} : { question }),
  });
  if (typeof prepared === "number") return prepared;
  const { client, stop } = open;
  const job = await jobFor(open, prepared);
  if (stop.by !== null) return stoppedBefore(prepared, { onNotPowered }, stop.by);
  let run: ActiveRun;
  try {
    run = await startPermitted(open, prepared, { job, purpose: task.purpose, confirmsRaises: asksFirst(options) });
  } catch (cause) {
    if (stop.by === null || exitCodeOf(cause) === EXIT.outputUnknown) throw cause;
    return stoppedBefore(prepared, { onNotPowered }, stop.by);
  }
  // A signal that came while the run was being started may have found nothing to cut.
  if (stop.by !== null) void client.cut(stop.by);
  const context: Context<More> = { options, open, prepared, task };
  const followed = await followRun({
    run,
    client,
    onHolding: (verdict, outcome) => {
      show(context, run, { verdict, outcome, header: run.header });
      say("The outputs stay on under watch. Ctrl-C switches off.");
    },
    ...(task.onNews === undefined ? {} : { onNews: task.onNews }),
    ...(task.raiseText === undefined ? {} : { raiseText: task.raiseText }),
  });
  return finish(context, run, followed);
}

const notPowered = ({ because, ended }: NotPowered, { permit, warnings, request }: PreparedRun): RunDocument =>
  unpoweredDocument({ because, ended, permit: permit satisfies Permit, board: request.board?.name ?? null, warnings });

function show<More extends object>(
  { options, prepared, open, task }: Context<More>,
  run: ActiveRun,
  result: EndedTask["result"],
): void {
  const document = {
    ...runDocument({ ...result, job: run.job, warnings: [...prepared.warnings, ...(result.notes ?? [])] }),
    ...task.more({ result, run, stoppedBy: open.stop.by }),
  };
  if (options.json === true) printDocument(document);
  else if (task.print === undefined) printDraw(document, print);
  else task.print(document);
}

function finish<More extends object>(context: Context<More>, run: ActiveRun, { result, wasHeld }: FollowedRun): number {
  const { outcome } = result;
  const { by } = context.open.stop;
  if (wasHeld) {
    const asked = by === null ? "the longest on-time was reached" : `stopped by ${by}`;
    const why = outcome.trip?.because ?? asked;
    if (context.options.json === true) printDocument({ event: "off", why, output: outcome.output });
    else print(`off: ${why}; output ${outcome.output}`);
  } else show(context, run, result);
  for (const note of result.notes ?? []) say(`note: ${note}`);
  if (result.recordTrouble !== null) say(`The record is incomplete: ${result.recordTrouble}`);
  if (outcome.output === "unknown") shoutOutputUnknown();
  const code = exitCodeOfOutcome(outcome, wasHeld);
  return code === EXIT.asPlanned && result.recordTrouble !== null ? EXIT.failed : code;
}
