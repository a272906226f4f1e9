import { sayAmps, sayMs } from "../../../shared/amounts.ts";
import type { Cycle, CyclesResult } from "../../../shared/cycles.ts";
import type { ActiveRun } from "../../daemon/run/active-run.ts";
import type { PreparedRun } from "../../daemon/run/prepare-run.ts";
import { cyclesText } from "../../job/report/host-text.ts";
import { cyclesResult, startTimeMs, usualClass } from "../../verdict/cycles.ts";
import { EXIT, exitCodeOf, exitCodeOfOutcome } from "../input/exit-code.ts";
import { print, printDocument, say, shoutOutputUnknown } from "../text/people.ts";
import { type CycleStart, type CycleWish, cycleStarts } from "./cycle-starts.ts";
import { type FollowedRun, followRun } from "./follow-run.ts";
import { mustEndOff } from "./margin-run.ts";
import { energiseQuestion, jobFor, permitted, startPermitted } from "./permitted.ts";
import { type BenchOptions, cannotAsk, type OpenBench, withBench } from "./with-bench.ts";

export interface CycleOptions extends BenchOptions, CycleWish {}

const CYCLE_CAUTIONS = [
  "The board is switched on again and again without you: keep everything that burns away from it, have a smoke alarm in the room, and somebody in the building.",
  "Hot parts stay hot between starts: the off times matter, and they are lengthened if the board's longest on-time requires it.",
];

/** Powers a board up many times from the command line; answers with the exit code. */
export async function cycle(options: CycleOptions): Promise<number> {
  mustEndOff(options, "cycle");
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

interface AllStarts {
  cycles: Cycle[];
  end: Pick<CyclesResult, "endedBy" | "because">;
  code: number;
}

/** One start after the other, until the plan is done or one of them did not end as planned. */
async function startAll(context: Context): Promise<AllStarts> {
  const { open, options, prepared } = context;
  const cycles: Cycle[] = [];
  const ends = (endedBy: CyclesResult["endedBy"], because: string, code: number): AllStarts => ({
    cycles,
    end: { endedBy, because },
    code,
  });
  const byPerson = (): AllStarts => ends("person", `stopped by ${open.stop.by}`, EXIT.failed);
  for (const start of cycleStarts(options, { maxOnMs: prepared.plan.maxOnMs, nowMs: () => performance.now() })) {
    if (cycles.length > 0 && !(await waitOff(start, open.stop.signal))) return byPerson();
    if (open.stop.by !== null) return byPerson();
    const beganMs = performance.now();
    let run: ActiveRun;
    let followed: FollowedRun;
    try {
      run = await startPermitted(open, prepared, { job: context.job, purpose: "cycle", confirmsRaises: false });
      // A signal that came while the run was being started may have found nothing to cut.
      if (open.stop.by !== null) void open.client.cut(open.stop.by);
      followed = await followRun({ run, client: open.client, onHolding: () => undefined });
    } catch (cause) {
      if (open.stop.by !== null && exitCodeOf(cause) !== EXIT.outputUnknown) return byPerson();
      throw cause;
    }
    start.wasOn(performance.now() - beganMs);
    const { outcome, recordTrouble } = followed.result;
    const ended = cycleOf(start, run, followed, cycles);
    cycles.push(ended);
    if (options.json === true) printDocument({ event: "cycle", ...ended });
    else say(lineOf(ended));
    if (outcome.output === "unknown") shoutOutputUnknown();
    if (outcome.ended !== "as-planned" || outcome.output !== "off") {
      const by = {
        "board-stopped": "board",
        failed: "bench",
        "stopped-by-person": "person",
        "as-planned": "bench",
      } as const;
      const because =
        outcome.trip?.because ?? (open.stop.by === null ? "it did not end as planned" : `stopped by ${open.stop.by}`);
      return ends(by[outcome.ended], because, exitCodeOfOutcome(outcome));
    }
    if (recordTrouble !== null) {
      say(`The record is incomplete: ${recordTrouble}`);
      return ends("bench", recordTrouble, EXIT.failed);
    }
  }
  return ends("plan", "every requested start was made", EXIT.asPlanned);
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

function cycleOf(start: CycleStart, run: ActiveRun, { result }: FollowedRun, before: readonly Cycle[]): Cycle {
  const { outcome, verdict, header } = result;
  const isPlanned = outcome.ended === "as-planned" && outcome.output === "off";
  const drawn = isPlanned ? verdict.class : null;
  const usual = usualClass(before);
  const isUsual = usual === null || drawn === usual;
  return {
    cycle: before.length + 1,
    start: start.kind,
    run: header.run,
    class: drawn,
    clean: isPlanned && isUsual,
    because: isPlanned
      ? [
          ...(isUsual ? [] : [`Its draw was ${drawn}, but most starts before it were ${usual}.`]),
          ...(drawn === "cannot-tell" ? ["Its draw could not be classed: --watch 5 or more watches long enough."] : []),
        ]
      : [outcome.trip?.because ?? `it ended ${outcome.ended}, output ${outcome.output}`],
    offSeconds: start.offSeconds,
    plateauAmps: verdict.features.plateauAmps,
    chargeCoulombs: verdict.features.chargeCoulombs,
    startMs: startTimeMs(run.traces()),
  };
}

const lineOf = ({ cycle: number, start, class: drawn, clean, because, plateauAmps, startMs }: Cycle): string =>
  [
    `${number}, ${start}: ${clean ? "clean" : "not clean"}, ${drawn ?? "not judged"}`,
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
