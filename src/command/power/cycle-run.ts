import type { Cycle, CyclesResult } from "../../../shared/record/cycles.ts";
import type { HostWord } from "../../../shared/record/host-look.ts";
import { sayAmps, sayMs } from "../../../shared/words/amounts.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { CYCLE_CAUTIONS } from "../../daemon/run/cautions.ts";
import { type CyclesEnd, cycleLoop, heatOf } from "../../daemon/run/cycle-loop.ts";
import type { CycleStart, CycleWish } from "../../daemon/run/cycle-starts.ts";
import type { PreparedRun } from "../../daemon/run/prepare-run.ts";
import { mustEndOff } from "../../daemon/run/task-wishes.ts";
import { hostWordIn } from "../../job/filing/host-word-in.ts";
import { cyclesText, HOST_WORDS } from "../../job/report/host-text.ts";
import { realClock } from "../../system/real-clock.ts";
import { cyclesResult } from "../../verdict/cycles.ts";
import { EXIT, exitCodeOf, exitCodeOfOutcome } from "../input/exit-code.ts";
import { print, printDocument, say, shoutOutputUnknown } from "../text/people.ts";
import { followRun } from "./follow-run.ts";
import { energiseQuestion, jobFor, permitted, startPermitted } from "./permitted.ts";
import { type BenchOptions, cannotAsk, type OpenBench, withBench } from "./with-bench.ts";

export interface CycleOptions extends BenchOptions, CycleWish {
  /** File that the test host writes anew at each of its looks, and the port the board is in. */
  hostLook?: string;
  port?: string;
}

/** Powers a board up many times from the command line; answers with the exit code. */
export async function cycle(options: CycleOptions): Promise<number> {
  mustEndOff(options.keepOn, "cycle");
  return cannotAsk(options) ?? (await withBench(options, (open) => cyclesOn(open, options)));
}

async function cyclesOn(open: OpenBench, options: CycleOptions): Promise<number> {
  const prepared = await permitted(open, {
    options,
    cautions: CYCLE_CAUTIONS,
    question: (asked) => `${energiseQuestion(asked).replace(/\?$/, "")}, again and again?`,
    onNotPowered: ({ because }) => {
      if (options.json === true)
        printDocument(done(cyclesResult([], { endedBy: "bench", because: because.join("; ") }).result, null));
    },
  });
  if (typeof prepared === "number") return prepared;
  const job = await jobFor(open, prepared);
  const ended = await startAll({ open, options, prepared, job });
  const { cycles, result } = cyclesResult(ended.cycles, ended.end);
  await open.data.store.appendEvent(job, { kind: "cycles", cycles, result });
  if (options.json === true) printDocument(done(result, job));
  else for (const line of linesOf(result)) print(line);
  if (ended.code !== EXIT.asPlanned) return ended.code;
  return result.clean === result.cycles ? EXIT.asPlanned : EXIT.boardStopped;
}

const done = (result: CyclesResult, job: string | null): object => ({ event: "done", ...result, job });

interface Context {
  open: OpenBench;
  options: CycleOptions;
  prepared: PreparedRun;
  job: string;
}

/** Every start from the command line, with the exit code that its end asks for. */
async function startAll({ open, options, prepared, job }: Context): Promise<CyclesEnd & { code: number }> {
  const { stop, client } = open;
  const ended = await cycleLoop({
    wish: options,
    ...heatOf(prepared.plan),
    nowMs: () => performance.now(),
    stoppedBy: () => stop.by,
    rest: (start) => waitOff(start, stop.signal),
    power: async () => {
      try {
        const run = await startPermitted(open, prepared, { job, purpose: "cycle", confirmsRaises: false });
        // A signal that came while the run was being started may have found nothing to cut.
        if (stop.by !== null) void client.cut(stop.by);
        const { result } = await followRun({ run, client, onHolding: () => undefined });
        return { run, result };
      } catch (cause) {
        if (stop.by !== null && exitCodeOf(cause) !== EXIT.outputUnknown) return null;
        throw cause;
      }
    },
    ...hostWordOf({ open, options, prepared, job }),
    onCycle: (cycle, { outcome, recordTrouble, notes = [] }) => {
      for (const note of notes) say(`note: ${note}`);
      if (options.json === true) printDocument({ event: "cycle", ...cycle });
      else say(lineOf(cycle));
      if (outcome.output === "unknown") shoutOutputUnknown();
      else if (recordTrouble !== null) say(`The record is incomplete: ${recordTrouble}`);
    },
  });
  return { ...ended, code: codeOf(ended) };
}

/** The way the host is asked after each start; a file that cannot be read is told of, and says nothing of the start. */
function hostWordOf({ open, options, prepared, job }: Context): {
  hostWord?: (sinceMs: number) => Promise<HostWord | null>;
} {
  const { hostLook, port } = options;
  if (hostLook === undefined) return {};
  const { store } = open.data;
  const { board } = prepared.request;
  return {
    hostWord: (sinceMs) =>
      hostWordIn(hostLook, {
        store,
        clock: realClock,
        job,
        board,
        sinceMs,
        ...(port === undefined ? {} : { port }),
      }).catch((cause: unknown) => {
        say(`note: ${messageOf(cause)}`);
        return null;
      }),
  };
}

function codeOf({ end, last }: CyclesEnd): number {
  if (end.endedBy === "plan") return EXIT.asPlanned;
  const { outcome = null } = last ?? {};
  const isPlanned = outcome === null || (outcome.ended === "as-planned" && outcome.output === "off");
  return isPlanned ? EXIT.failed : exitCodeOfOutcome(outcome);
}

/** Waits while everything is off; false where somebody stopped it meanwhile. */
async function waitOff({ offSeconds, kind }: CycleStart, signal: AbortSignal): Promise<boolean> {
  if (process.stderr.isTTY) say(`off for ${Math.round(offSeconds)} s before a ${kind} start`);
  await new Promise<void>((resolve) => {
    const timer = setTimeout(over, 1000 * offSeconds);
    function over(): void {
      clearTimeout(timer);
      signal.removeEventListener("abort", over);
      resolve();
    }
    signal.addEventListener("abort", over);
    if (signal.aborted) over();
  });
  return !signal.aborted;
}

const lineOf = ({ cycle: number, start, class: drawn, clean, because, plateauAmps, startMs, host }: Cycle): string =>
  [
    `${number}, ${start}: ${clean ? "clean" : "not clean"}, ${drawn ?? "not judged"}`,
    ...(host === undefined || host === null ? [] : [HOST_WORDS[host]]),
    ...(plateauAmps === null ? [] : [sayAmps(plateauAmps)]),
    ...(startMs === null ? [] : [`settled after ${sayMs(startMs)}`]),
    ...because,
  ].join(", ");

function linesOf(result: CyclesResult): string[] {
  const { plateauAmps: amps, startMs: ms } = result;
  return [
    cyclesText(result),
    ...(amps === null
      ? []
      : [`  Steady current ${sayAmps(amps.least)} to ${sayAmps(amps.most)}, mean ${sayAmps(amps.mean)}`]),
    ...(ms === null ? [] : [`  Settled after ${sayMs(ms.least)} to ${sayMs(ms.most)}, mean ${sayMs(ms.mean)}`]),
  ];
}
