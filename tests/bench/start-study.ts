import { describe, expect, test } from "vitest";
import type { Dialect } from "../../src/simulator/simulated-supply.ts";
import type { FeedTruth } from "../../src/simulator/truth.ts";
import { type RunReport, SimulatedBench } from "./simulated-bench.ts";
import {
  FEED,
  FIRST_AMPS,
  NEXT_AMPS,
  NOMINAL_VOLTS,
  nameOf,
  type StudyBoard,
  scenarioOf,
  startAlone,
  studyBoards,
} from "./start-study-boards.ts";

/**
 * Whether the first limit can start the board, by the circuit alone (`startAlone`): it can where the board settles at
 * nominal after less limiting than the design ever allows (100 ms of a second, less a tenth for where the readings
 * fall), and cannot where it never settles. In between lie a few that loop through their fan's start: both ends are right.
 */
function whatTheCircuitSays(board: StudyBoard): "can" | "cannot" | "in between" {
  const alone = startAlone(board, FIRST_AMPS);
  if (!alone.settles) return "cannot";
  return alone.limitedMs <= 90 ? "can" : "in between";
}

/** Where a cut falls behind what decides it: the reading under way, the turn that decides, the write. */
const CUT_BEHIND_MS = 30;
/** Of the supply, so that the reading under way is no more than that. */
const LATENCY_MS = 12;
/** What the plan takes for the rise of a supply whose driver does not say. */
const RISE_UNKNOWN_MS = 50;

/** Longest the design lets a feed linger: 3·C·ΔV/I, the supply's rise, three read intervals; 100 ms to 1 s. */
function lingerMs(board: StudyBoard, readIntervalMs: number): number {
  const farads = board.described ? board.farads : 0.005;
  const chargeMs = (1000 * farads * NOMINAL_VOLTS) / FIRST_AMPS;
  const allowed = 3 * chargeMs + Math.max(board.riseMs, RISE_UNKNOWN_MS) + 3 * readIntervalMs;
  return Math.min(1000, Math.max(100, allowed)) + CUT_BEHIND_MS;
}

/** The last stretch with the output on: the rise to nominal, and the watch where it came to one. */
function lastOnMs({ switchings }: FeedTruth): number {
  const on = switchings.findLastIndex((each) => each.output === "on");
  const off = switchings[on + 1];
  return off === undefined ? Number.POSITIVE_INFINITY : off.atMs - (switchings[on]?.atMs ?? Number.NaN);
}

function mustHaveStarted({ outcome, verdict }: RunReport, feed: FeedTruth): void {
  expect(outcome.trip?.because).toBeUndefined();
  expect(outcome.ended).toBe("as-planned");
  expect(feed.maxBoardVolts).toBeGreaterThan(0.95 * NOMINAL_VOLTS);
  expect(["standby-only", "partly-up", "core-alive", "cannot-tell"]).toContain(verdict.class);
}

function mustHaveBeenCut({ outcome, verdict }: RunReport, feed: FeedTruth): void {
  // A board that loops slowly may spend its allowed time in the limit before its second return is seen; both say the same.
  expect(["start-loop", "limiting"], outcome.trip?.because).toContain(outcome.trip?.rule);
  expect(outcome.ended).toBe("board-stopped");
  expect(lastOnMs(feed)).toBeLessThanOrEqual(1000);
  expect(outcome.limitToTry).toEqual({ feed: FEED, amps: NEXT_AMPS });
  expect(verdict.class).toBe("cannot-tell");
  expect(verdict.candidates.map((each) => each.class)).toContain("overload");
}

/** Every healthy board with this lock-out starts under the first limit, or is cut with the limit to try named. */
export function startStudy(lockOutVolts: readonly [number, number], dialect: Dialect): void {
  const boards = studyBoards(lockOutVolts).map((board) => ({ board, name: nameOf(board) }));
  const known = new Map<StudyBoard, ReturnType<typeof whatTheCircuitSays>>();
  const saysOf = (board: StudyBoard): ReturnType<typeof whatTheCircuitSays> => {
    const says = known.get(board) ?? whatTheCircuitSays(board);
    known.set(board, says);
    return says;
  };
  describe(`healthy boards with a lock-out of ${lockOutVolts.join("/")} V, ${dialect} supply`, () => {
    test.each(boards)("$name", async ({ board }) => {
      const says = saysOf(board);
      const bench = await SimulatedBench.start({
        scenario: scenarioOf(board),
        dialect,
        traits: { latencyMs: LATENCY_MS },
      });
      try {
        const report = await bench.run({ watchSeconds: 3 });
        const feed = bench.simulation.truth().feeds[FEED];
        const planned = report.prepared.plan.feeds[0];
        if (feed === undefined || planned === undefined) throw new Error("the study's feed is not there");
        expect(report.outcome.output).toBe("off");
        expect(feed.output).toBe("off");
        expect(feed.maxSetLimitAmps).toBeLessThanOrEqual(FIRST_AMPS);
        expect(feed.longestDwellMs).toBeLessThanOrEqual(lingerMs(board, planned.readIntervalMs));
        if (says === "can" || (says === "in between" && report.outcome.trip === null)) mustHaveStarted(report, feed);
        else mustHaveBeenCut(report, feed);
      } finally {
        await bench.close();
      }
    });

    test("the circuit decides nearly all of them, many each way", () => {
      const count = (wanted: string): number => boards.filter(({ board }) => saysOf(board) === wanted).length;
      expect(count("can")).toBeGreaterThanOrEqual(20);
      expect(count("cannot")).toBeGreaterThanOrEqual(20);
      expect(count("in between")).toBeLessThanOrEqual(boards.length / 8);
    });
  });
}
