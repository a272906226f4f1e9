import { describe, expect, test } from "vitest";
import type { FromBench } from "../../shared/ipc.ts";
import type { FeedTruth } from "../../src/simulator/truth.ts";
import { type RunReport, SimulatedBench } from "./simulated-bench.ts";
import { FEED, MOST_AMPS, type StudyBoard, scenarioOf, startAlone } from "./start-study-boards.ts";

type Question = Extract<FromBench, { type: "question" }>;

const base: StudyBoard = {
  farads: 0.002,
  lockOutVolts: [7.5, 7],
  demandWatts: 24,
  fan: false,
  riseMs: 5,
  described: true,
};
/** At a lock-out of 7 V these watts want 3.4 A, 5.1 A and more than any limit of this board. */
const boards = {
  three: base,
  five: { ...base, demandWatts: 40 },
  never: { ...base, demandWatts: 80 },
};

interface Climb extends RunReport {
  questions: Question[];
  feed: FeedTruth;
}

async function climb(board: StudyBoard, answer: ((question: Question) => boolean) | null): Promise<Climb> {
  const bench = await SimulatedBench.start({ scenario: scenarioOf(board) });
  const questions: Question[] = [];
  try {
    const report = await bench.run({
      watchSeconds: 3,
      answer:
        answer === null
          ? null
          : (question) => {
              questions.push(question);
              return answer(question);
            },
    });
    const feed = bench.simulation.truth().feeds[FEED];
    if (feed === undefined) throw new Error("the feed is not there");
    expect(feed.output).toBe("off");
    expect(report.outcome.output).toBe("off");
    return { ...report, questions, feed };
  } finally {
    await bench.close();
  }
}

/** How long the output was off before each time it was switched on in the rise, the first of them left out. */
function offBeforeRaisesMs({ switchings }: FeedTruth, raises: number): number[] {
  const ons = switchings.flatMap((each, index) => (each.output === "on" ? [index] : []));
  return ons.slice(-raises).map((index) => (switchings[index]?.atMs ?? 0) - (switchings[index - 1]?.atMs ?? 0));
}

describe("a limit is raised by a person, one step at a time", () => {
  test("the circuit alone says what each board needs", () => {
    const starts = (board: StudyBoard): boolean[] => [2, 3, 5].map((amps) => startAlone(board, amps).settles);
    expect(starts(boards.three)).toEqual([false, true, true]);
    expect(starts(boards.five)).toEqual([false, false, true]);
    expect(starts(boards.never)).toEqual([false, false, false]);
  });

  test("one raise, after 10 s off, starts a board that needs 3 A", async () => {
    const { outcome, questions, feed } = await climb(boards.three, () => true);
    expect(outcome).toMatchObject({ ended: "as-planned", trip: null, raises: 1, limitToTry: null });
    expect(questions).toMatchObject([{ asks: "raise-limit", feed: FEED, fromAmps: 2, toAmps: 3 }]);
    expect(feed.maxSetLimitAmps).toBe(3);
    expect(Math.min(...offBeforeRaisesMs(feed, 1))).toBeGreaterThanOrEqual(10_000);
  });

  test("two raises, each asked for and each after 10 s off, start a board that needs 5 A", async () => {
    const { outcome, questions, feed } = await climb(boards.five, () => true);
    expect(outcome).toMatchObject({ ended: "as-planned", trip: null, raises: 2 });
    expect(questions.map(({ fromAmps, toAmps }) => [fromAmps, toAmps])).toEqual([
      [2, 3],
      [3, 5],
    ]);
    expect(Math.min(...offBeforeRaisesMs(feed, 2))).toBeGreaterThanOrEqual(10_000);
    expect(feed.maxSetLimitAmps).toBe(MOST_AMPS);
  });

  test("after two raises nothing is left to ask: the board is cut and stays off", async () => {
    const { outcome, questions, feed } = await climb(boards.never, () => true);
    expect(questions).toHaveLength(2);
    expect(outcome).toMatchObject({
      ended: "board-stopped",
      raises: 2,
      limitToTry: null,
      trip: { rule: "start-loop" },
    });
    expect(feed.maxSetLimitAmps).toBe(MOST_AMPS);
  });

  test("a no ends the run with the limit named and never set", async () => {
    const { outcome, questions, feed } = await climb(boards.five, () => false);
    expect(questions).toHaveLength(1);
    expect(outcome).toMatchObject({ ended: "board-stopped", raises: 0, limitToTry: { feed: FEED, amps: 3 } });
    expect(feed.maxSetLimitAmps).toBe(2);
  });

  test("where nobody can be asked no limit is ever raised", async () => {
    const { outcome, questions, feed } = await climb(boards.three, null);
    expect(questions).toEqual([]);
    expect(outcome).toMatchObject({ ended: "board-stopped", raises: 0, limitToTry: { feed: FEED, amps: 3 } });
    expect(feed.maxSetLimitAmps).toBe(2);
  });
});
