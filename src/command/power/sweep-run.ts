import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { BenchQuestion, FoundInstrument } from "../../../shared/ipc.ts";
import type { SweepLine } from "../../../shared/sweep.ts";
import type { ActiveRun } from "../../daemon/run/active-run.ts";
import { benchFeeds, missingInWords } from "../../daemon/run/bench-feeds.ts";
import { PROBE_CAUTIONS } from "../../daemon/run/cautions.ts";
import { leadNullWords, readLeadNull } from "../../daemon/run/lead-null-file.ts";
import type { PreparedRun } from "../../daemon/run/prepare-run.ts";
import type { GuidedSweep, SweepResult } from "../../daemon/sweep/guided-sweep.ts";
import { openSweep } from "../../daemon/sweep/open-sweep.ts";
import { sweepBench } from "../../daemon/sweep/sweep-power.ts";
import { knownElsewhere } from "../../job/board/known-elsewhere.ts";
import { learnedValues } from "../../job/known/learned-values.ts";
import { beginSweep } from "../../sweep/begin-sweep.ts";
import { realClock } from "../../system/real-clock.ts";
import { EXIT, exitCodeOfOutcome } from "../input/exit-code.ts";
import { elsewhereLines, learnedLines } from "../text/learned-text.ts";
import { printDocument, say, shoutOutputUnknown } from "../text/people.ts";
import { SweepText } from "../text/sweep-text.ts";
import { steerByLines } from "../text/sweep-words.ts";
import { SOONEST_ANSWER_MS } from "./ask-line.ts";
import { isYes } from "./ask-yes-no.ts";
import { questionText } from "./follow-run.ts";
import { jobFor, notPrepared, permitted, startPermitted } from "./permitted.ts";
import { asksFirst, type BenchOptions, cannotAsk, type OpenBench, withBench } from "./with-bench.ts";

export interface SweepOptions extends BenchOptions {
  cold?: boolean;
  diode?: boolean;
  fourWire?: boolean;
  black: "board" | "supply";
  group?: string;
  across?: boolean;
  partCelsius?: number;
}

/** The watch of a sweep's own power-up, seconds. */
const WATCH_SECONDS = 3;

/** Does one sweep from the command line; answers with the exit code. */
export async function sweep(options: SweepOptions): Promise<number> {
  // A group is read on a board that is off.
  const isCold = options.cold === true || options.group !== undefined;
  refuseWish(options, isCold);
  const refusal = isCold ? null : cannotAsk(options);
  return refusal ?? (await withBench(options, (open) => (isCold ? coldSweep(open, options) : hotSweep(open, options))));
}

/** Throws BenchError "bad-input" for options that contradict each other. */
function refuseWish({ across, partCelsius }: SweepOptions, isCold: boolean): void {
  if (across === true && isCold)
    throw new BenchError(
      "bad-input",
      "Cannot measure the voltage across parts while the board is off: --across cannot be used with --cold or --group; nothing was touched",
    );
  if (partCelsius !== undefined && across !== true)
    throw new BenchError("bad-input", "--part-celsius is only used with --across; nothing was touched");
}

/** Throws BenchError "bad-input" where the board file has no such group, or no parts. */
function refuseBoard(board: BoardFile, { group, across }: SweepOptions): void {
  const groups = Object.keys(board.groups ?? {});
  if (group !== undefined && !groups.includes(group))
    throw new BenchError(
      "bad-input",
      `Cannot sweep the group ${quoted(group)}: the board file of ${board.name} has ${groups.length === 0 ? "no groups" : `these: ${groups.join(", ")}`}; nothing was touched`,
    );
  if (across === true && Object.keys(board.across ?? {}).length === 0)
    throw new BenchError(
      "bad-input",
      `Cannot measure the voltage across parts: the board file of ${board.name} lists none under "across"; nothing was touched`,
    );
}

/** The board a sweep is of. Throws BenchError "bad-input" where none is named, or it names nothing to go to. */
function boardOf({ board }: OpenBench, isCold: boolean): BoardFile {
  // Inputs have ohms, also where nothing is known of the rails.
  if (board !== null && (isCold || Object.keys(board.rails).length > 0)) return board;
  throw new BenchError(
    "bad-input",
    board === null
      ? "Cannot sweep without a board file, which names the rails (--board); nothing was touched"
      : `Cannot sweep ${board.name}: its board file names no rail; nothing was touched`,
  );
}

async function hotSweep(open: OpenBench, options: SweepOptions): Promise<number> {
  const board = boardOf(open, false);
  refuseBoard(board, options);
  const { stop } = open;
  const prepared = await permitted(open, {
    options,
    wish: { keepOn: true, watchSeconds: options.watch ?? WATCH_SECONDS },
    cautions: PROBE_CAUTIONS,
    onNotPowered: ({ because, ended }) => {
      const how = ended === "board-stopped" ? "board-stopped" : ended === "failed" ? "failed" : "cut";
      if (options.json === true) printDocument(notBegun(how, because));
    },
  });
  if (typeof prepared === "number") return prepared;
  const job = await jobFor(open, prepared);
  const text = new SweepText();
  const start = async (): Promise<ActiveRun> => {
    const run = await startPermitted(open, prepared, { job, purpose: "sweep", confirmsRaises: asksFirst(options) });
    text.follow(run);
    return run;
  };
  const { instruments } = prepared;
  const desk = await deskOf(open, options, { board, job, prepared, instruments, start });
  const result = await followed(open, options, { desk, text });
  if (result.done.output === "on") return await heldOn(open, options, desk);
  return exitCodeOf(result, stop.by !== null);
}

async function coldSweep(open: OpenBench, options: SweepOptions): Promise<number> {
  const board = boardOf(open, true);
  refuseBoard(board, options);
  const { bench, drivers, ownDrivers, client, stop } = open;
  let instruments: FoundInstrument[];
  try {
    const found = await client.connect({ bench, drivers, ownDrivers, ...benchFeeds(bench, board) });
    for (const missing of missingInWords(found.missing)) say(`note: ${missing}`);
    for (const { feed, supply, cutByUs } of found.feeds)
      if (cutByUs) say(`note: ${feed}: the output of ${supply} was found on and has been cut`);
    const left = found.feeds.find((each) => each.output !== "off");
    if (left !== undefined) {
      throw new BenchError(
        "output-unknown",
        `Cannot measure ohms: the output of ${left.supply} for feed "${left.feed}" could not be confirmed off; switch it off at the supply`,
        { detail: { output: "unknown" } },
      );
    }
    instruments = found.instruments;
  } catch (cause) {
    return notPrepared(cause, stop);
  }
  const job = open.job ?? (await open.data.store.newJob({ board: board.name }));
  const start = async (): Promise<never> => {
    throw new Error("a cold sweep energises nothing");
  };
  const desk = await deskOf(open, options, { board, job, prepared: null, instruments, start });
  return exitCodeOf(await followed(open, options, { desk, text: new SweepText() }), stop.by !== null);
}

async function deskOf(
  open: OpenBench,
  options: SweepOptions,
  of: {
    board: BoardFile;
    job: string;
    prepared: PreparedRun | null;
    instruments: FoundInstrument[];
    start: () => Promise<ActiveRun>;
  },
): Promise<GuidedSweep> {
  const { bench, data, client } = open;
  const { board, job, prepared, instruments, start } = of;
  const meter = bench.meter === undefined ? undefined : instruments.find((each) => each.name === bench.meter);
  if (meter === undefined)
    say("note: the bench file names no meter: type the values in, such as volts 1.81 or ohms 4.7k");
  else if (prepared === null && options.fourWire !== true) {
    const leadNull = await readLeadNull(data.directory, meter.identity);
    say(
      `note: ${leadNull === null ? "the leads were not nulled (firstamp null-leads)" : leadNullWords(leadNull, Date.now())}`,
    );
  }
  for (const line of learnedLines(board.name, await learnedValues(data.store, board.name))) say(line);
  const elsewhere = await knownElsewhere(data.directory, board.name);
  for (const line of elsewhereLines(elsewhere.map(({ knowledge }) => knowledge))) say(line);
  return await openSweep({
    begin: beginSweep,
    clock: realClock,
    side: sweepBench(client, start),
    bench,
    board,
    instruments,
    prepared,
    coldOhms: prepared?.request.coldOhms ?? options.ohms,
    diode: options.diode === true,
    fourWire: options.fourWire === true,
    blackAt: options.black,
    keepOn: options.keepOn === true,
    ...(options.group === undefined ? {} : { group: options.group }),
    ...(options.across === true ? { across: { celsius: options.partCelsius ?? null } } : {}),
    store: data.store,
    job,
  });
}

/** Runs the sweep to its end: its lines go out, standard input steers it, a signal has cut already. */
async function followed(
  { stop, client }: OpenBench,
  options: SweepOptions,
  { desk, text }: { desk: GuidedSweep; text: SweepText },
): Promise<SweepResult> {
  desk.on("line", (line) => {
    if (options.json === true) printDocument(line);
    else text.show(line);
  });
  let asked: { question: BenchQuestion; fromMs: number } | null = null;
  const shown = {
    alarm: ({ message }: { message: string }): void => text.say(`ALARM: ${message}`, 1),
    problem: ({ problem }: { problem: { message: string } }): void => text.say(`note: ${problem.message}`),
    note: (note: string): void => text.say(`note: ${note}`),
    lost: (why: string): void => text.say(`${why}; the guardian switches off what was on`),
    question: (question: BenchQuestion): void => {
      steering.beginLine();
      text.say(`${questionText(question)} [y/N]`);
      // A program that reads the question answers at once; a person cannot.
      asked = { question, fromMs: process.stdin.isTTY ? performance.now() + SOONEST_ANSWER_MS : 0 };
    },
  };
  /** A line that answers what the bench asked; any but a yes is a no. */
  const answers = (line: string, begunAtMs: number): boolean => {
    if (asked === null) return false;
    const { question, fromMs } = asked;
    if (begunAtMs < fromMs) {
      text.say("What was typed before the question was shown does not count. Answer it now: [y/N]");
      return true;
    }
    asked = null;
    client.answer(question.question, isYes(line)).catch((cause: Error) => text.say(`note: ${cause.message}`));
    return true;
  };
  client.on("alarm", shown.alarm).on("problem", shown.problem).on("note", shown.note);
  client.on("lost", shown.lost).on("question", shown.question);
  const onStop = (): void => desk.cut(stop.by ?? "a person");
  stop.signal.addEventListener("abort", onStop);
  const steering = steerByLines(desk, answers);
  desk.start();
  if (stop.by !== null) onStop();
  const result = await desk.done;
  steering.silence();
  stop.signal.removeEventListener("abort", onStop);
  client.off("alarm", shown.alarm).off("problem", shown.problem).off("note", shown.note);
  client.off("lost", shown.lost).off("question", shown.question);
  text.end();
  if (result.recordTrouble !== null) say(`The record is incomplete: ${result.recordTrouble}`);
  if (result.done.output === "unknown") shoutOutputUnknown();
  return result;
}

/** The sweep is over and the outputs were to stay on: until a signal, or the longest on-time. */
async function heldOn({ stop }: OpenBench, options: SweepOptions, desk: GuidedSweep): Promise<number> {
  say("The outputs stay on under watch. Ctrl-C switches off.");
  const { outcome } = await desk.heldUntil;
  const why = outcome.trip?.because ?? (stop.by === null ? "the longest on-time was reached" : `stopped by ${stop.by}`);
  if (options.json === true) printDocument({ event: "off", why, output: outcome.output });
  else say(`off: ${why}; output ${outcome.output}`);
  if (outcome.output === "unknown") shoutOutputUnknown();
  return exitCodeOfOutcome(outcome, true);
}

function exitCodeOf({ done, recordTrouble }: SweepResult, wasCut: boolean): number {
  if (done.output === "unknown") return EXIT.outputUnknown;
  if (done.ended === "board-stopped") return EXIT.boardStopped;
  if (done.ended === "cut" || done.ended === "failed" || wasCut) return EXIT.failed;
  return recordTrouble === null ? EXIT.asPlanned : EXIT.failed;
}

const notBegun = (
  ended: "board-stopped" | "failed" | "cut",
  because: string[],
): Extract<SweepLine, { event: "done" }> => ({
  event: "done",
  ended,
  because: ["nothing was energised", ...because],
  rails: [],
  diagnosis: null,
  draw: null,
  readings: null,
  neverPower: [],
  output: "off",
  job: null,
  trip: null,
});
