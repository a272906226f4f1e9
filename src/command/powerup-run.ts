import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { RunOutcome } from "../../shared/plan.ts";
import type { ActiveRun } from "../daemon/active-run.ts";
import type { PreparedRun } from "../daemon/prepare-run.ts";
import { runDocument, unpoweredDocument } from "../daemon/run-document.ts";
import { EXIT, exitCodeOf, exitCodeOfOutcome } from "./exit-code.ts";
import { type FollowedRun, followRun } from "./follow-run.ts";
import { print, printDocument, say, shoutOutputUnknown } from "./people.ts";
import { jobFor, type NotPowered, permitted, startPermitted, stoppedBefore } from "./permitted.ts";
import { printDraw } from "./print-draw.ts";
import { asksFirst, type BenchOptions, cannotAsk, type OpenBench, withBench } from "./with-bench.ts";

/** Does one power-up from the command line; answers with the exit code. */
export async function powerup(options: BenchOptions): Promise<number> {
  return cannotAsk(options) ?? (await withBench(options, (open) => powerupOn(open, options)));
}

async function powerupOn(open: OpenBench, options: BenchOptions): Promise<number> {
  const onNotPowered = (why: NotPowered, prepared: PreparedRun): void => {
    if (options.json === true) printDocument(notPoweredDocument(why, prepared));
  };
  const prepared = await permitted(open, { options, onNotPowered });
  if (typeof prepared === "number") return prepared;
  const { client, stop } = open;
  const job = await jobFor(open, prepared);
  if (stop.by !== null) return stoppedBefore(prepared, { onNotPowered }, stop.by);
  let run: ActiveRun;
  try {
    run = await startPermitted(open, prepared, { job, purpose: "powerup", confirmsRaises: asksFirst(options) });
  } catch (cause) {
    if (stop.by === null || exitCodeOf(cause) === EXIT.outputUnknown) throw cause;
    return stoppedBefore(prepared, { onNotPowered }, stop.by);
  }
  // A signal that came while the run was being started may have found nothing to cut.
  if (stop.by !== null) client.cut(stop.by);
  const context = { options, open, prepared };
  return finish(
    await followRun({ run, client, onHolding: (verdict, outcome) => held(context, run, verdict, outcome) }),
    context,
  );
}

interface RunContext {
  options: BenchOptions;
  open: OpenBench;
  prepared: PreparedRun;
}

const notPoweredDocument = ({ because, ended }: NotPowered, { permit, warnings, request }: PreparedRun) =>
  unpoweredDocument({ because, ended, permit, board: request.board?.name ?? null, warnings });

function held({ options, prepared }: RunContext, run: ActiveRun, verdict: DrawVerdict, outcome: RunOutcome): void {
  const document = runDocument({ verdict, outcome, header: run.header, job: run.job, warnings: prepared.warnings });
  if (options.json === true) printDocument(document);
  else printDraw(document, print);
  say("The outputs stay on, watched. Ctrl-C switches off.");
}

function finish({ result, wasHeld }: FollowedRun, { options, prepared, open }: RunContext): number {
  const { outcome, verdict, header, job } = result;
  if (wasHeld) {
    const { by } = open.stop;
    const asked = by === null ? "the longest on-time was reached" : `stopped by ${by}`;
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
