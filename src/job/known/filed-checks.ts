import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { AlikeWord } from "../../../shared/record/alike.ts";
import type { FirmwareWord } from "../../../shared/record/firmware-image.ts";
import type { HostWord } from "../../../shared/record/host-look.ts";
import type { HostTest } from "../../../shared/record/host-test.ts";
import { type JobEvent, type StoredEvent, TAKEN_BACK } from "../../../shared/record/job.ts";
import type { StartOrder } from "../../../shared/record/start-order.ts";
import { boardRolesOf } from "../../verdict/diagnosis/board-roles.ts";
import { powerTreeOf } from "../../verdict/diagnosis/power-tree.ts";
import { voltsLimits } from "../../verdict/diagnosis/reading-state.ts";
import { shippedFaultData } from "../../verdict/diagnosis/shipped-fault-data.ts";
import { sinceRepair } from "./since-repair.ts";

/** The answer of the fault data's "host-look" that a word is; undefined for one that decides between none of them. */
function hostAnswer(word: HostWord): string | undefined {
  // Either no link or no presence was not read; of the two, no link is much the likelier.
  if (word === "not-listed") return "no-link";
  return word === "link-but-not-listed" || word === "cannot-tell" ? undefined : word;
}

/** Likewise of "firmware-read". A dump that is not to be trusted is no answer. */
const FIRMWARE_ANSWERS: Partial<Record<FirmwareWord, string>> = {
  "as-good-boards": "as-good",
  differs: "differs",
  blank: "differs",
  "bad-checksum": "differs",
  "another-boards": "differs",
};

/**
 * The entries since the last repair: a host's looks, starts, firmware dumps, tests elsewhere and answers, as the checks of a diagnosis:
 * "CHECK" or "CHECK POINT" to one of its answers. The latest of each holds; what does not decide is left out.
 */
export function filedChecks(
  log: readonly StoredEvent[],
  board: BoardFile,
  now: readonly JobEvent[] = [],
): Record<string, string> {
  const lanes = new Map<string, AlikeWord>();
  const checks: Record<string, string> = {};
  const put = (check: string, answer: string | undefined): void => {
    if (answer === undefined) delete checks[check];
    else checks[check] = answer;
  };
  for (const event of sinceRepair(log, now)) {
    if (event.kind === "host-look" && event.of === "board") put("host-look", hostAnswer(event.verdict.word));
    else if (event.kind === "firmware") put("firmware-read", FIRMWARE_ANSWERS[event.verdict.word]);
    else if (event.kind === "start-order") Object.assign(checks, startChecks(event.result, board));
    else if (event.kind === "sweep-ended" && event.alike !== undefined && LANES.test(event.alike.group)) {
      lanes.set(event.alike.group, event.alike.word);
      put("lanes", lanesAnswer([...lanes.values()]) ?? checks["lanes"]);
    } else if (event.kind === "test") {
      const check = HOST_TESTS[event.test.name];
      if (check !== undefined) put(check.check, check.answer(event.test) ?? checks[check.check]);
    } else if (event.kind === "answer" && event.to !== "host" && event.to !== "state" && event.answer !== TAKEN_BACK)
      put(event.to, event.answer);
  }
  return checks;
}

/** Groups that the fault data's look at the lanes is about: by the name the board file gives them. */
const LANES = /^lanes?($|[-_.])/i;

/** The common word of several groups of lanes; undefined where none of them says anything. */
function lanesAnswer(words: readonly AlikeWord[]): string | undefined {
  const differing = words.filter((word) => word === "one-differs" || word === "several-differ");
  if (differing.length > 1 || differing.includes("several-differ")) return "several-open";
  if (differing.length === 1) return "one-differs";
  return words.includes("alike") ? "alike" : undefined;
}

/** Tests at the host that are checks of the fault data, each with the answer its result is; undefined for a result that decides nothing. */
const HOST_TESTS: Partial<Record<string, { check: string; answer: (test: HostTest) => string | undefined }>> = {
  load: { check: "load-test", answer: ({ result }) => byResult(result, "passes", "stops") },
  memory: { check: "memory-test", answer: ({ result }) => byResult(result, "clean", "errors") },
  "host-boots": { check: "boots", answer: bootsAnswer },
};

const byResult = (result: HostTest["result"], pass: string, fail: string): string | undefined =>
  result === "pass" ? pass : result === "fail" ? fail : undefined;

/** All starts alike, good or bad, or some of each. One start says nothing of the next. */
function bootsAnswer({ passed, of }: HostTest): string | undefined {
  if (passed === undefined || of === undefined) return undefined;
  if (passed > 0 && passed < of) return "varies";
  return of < FEW_BOOTS ? undefined : "same";
}

/** Fewer starts than this do not show that they are alike (common practice, no source). */
const FEW_BOOTS = 5;

/** The facts that only a trace shows: a clock that runs, a rail that overshoots, the start as a whole. Its levels count as volts. */
function startChecks(start: StartOrder, board: BoardFile): Record<string, string> {
  const { rails } = start;
  const { signals, rails: regulated } = boardRolesOf(powerTreeOf(board), shippedFaultData());
  const whole = startTrace(start, board);
  if (whole !== undefined) return { "start-trace": whole };
  const checks: Record<string, string> = {};
  for (const [name, { beginsMs, highVolts, lowVolts, overshoot }] of Object.entries(rails)) {
    const entry = board.rails[name];
    if (entry === undefined) continue;
    if (signals.get(name) === "clock") checks["clock-scope"] = beginsMs === null ? "still" : "runs";
    const peak = (highVolts ?? 0) + (overshoot ?? 0) * ((highVolts ?? 0) - (lowVolts ?? 0));
    if (regulated.has(name) && beginsMs !== null && peak > voltsLimits(entry).high)
      checks[`scope ${name}`] = "overshoots";
  }
  return checks;
}

/** The role of a signal that decides what a trace of the start says. */
const wholeOf = (board: BoardFile): { reset: string[]; clock: string[] } => {
  const { signals } = boardRolesOf(powerTreeOf(board), shippedFaultData());
  const of = (role: string): string[] => [...signals].filter(([, each]) => each === role).map(([name]) => name);
  return { reset: of("reset"), clock: of("clock") };
};

/** The start as one answer; undefined where its trace does not show enough to give one. */
function startTrace({ rails, about }: StartOrder, board: BoardFile): string | undefined {
  const { reset, clock } = wholeOf(board);
  const seen = (names: readonly string[]) => names.flatMap((name) => rails[name] ?? []);
  const stays = (names: readonly string[]): boolean => seen(names).some((each) => each.beginsMs === null);
  // A rail's own level tells its fault already; it takes reset and clock along.
  if (about.some((name) => board.rails[name] !== undefined && board.rails[name].signal !== true)) return undefined;
  if (seen(reset).length === 0) return undefined;
  if (stays(reset)) return "reset-low";
  if (seen(clock).length === 0) return undefined;
  return stays(clock) ? "clock-still" : "in-order";
}

/**
 * Levels of a start as volts of its rails and signals: nominal, absent, or "pulsing" for one that came up more than once or dips. An
 * oscilloscope's volts are a few percent sure, so a level near a limit is left out.
 */
export function startVolts(start: StartOrder, board: BoardFile): Record<string, number | "pulsing"> {
  const { rails } = start;
  const { reset, clock } = wholeOf(board);
  // Counted in the answer of the whole start.
  const counted = startTrace(start, board) === undefined ? [] : [...reset, ...clock];
  const volts: Record<string, number | "pulsing"> = {};
  for (const [name, { beginsMs, highVolts, starts, dips }] of Object.entries(rails)) {
    const entry = board.rails[name];
    if (entry === undefined || highVolts === null || counted.includes(name)) continue;
    const { absent, low, high } = voltsLimits(entry);
    if (beginsMs !== null && (starts > 1 || dips.length > 0)) volts[name] = "pulsing";
    else if (highVolts < absent / 2) volts[name] = highVolts;
    else if (highVolts > low && highVolts < high) volts[name] = entry.volts;
  }
  return volts;
}
