import { describe, expect, test } from "vitest";
import { RunOutcome, TripRule } from "../../shared/plan.ts";
import { endedBy, nothingLearned } from "../../shared/words/nothing-learned.ts";

const outcome = (ended: RunOutcome["ended"], rule: TripRule | null, board = false): RunOutcome => ({
  ended,
  trip: rule === null ? null : { rule, feed: "aux", stage: "watch", atMs: 1, board, because: "of a test" },
  output: "off",
  limitToTry: null,
  raises: 0,
  reachedStage: "watch",
});

describe("a run is a verdict on the board", () => {
  test("where the board or the plan ended it", () => {
    expect(endedBy(outcome("as-planned", null))).toBeNull();
    expect(endedBy(outcome("board-stopped", "limiting", true))).toBeNull();
    expect(endedBy(outcome("failed", "on-time"))).toBeNull();
    expect(nothingLearned(outcome("as-planned", null))).toBeNull();
  });

  test("and not where the bench, the computer or a person did", () => {
    for (const rule of [
      "stale",
      "silent",
      "link-lost",
      "lease-lost",
      "guardian-lost",
      "clock-gap",
      "command-failed",
    ] as const)
      expect(endedBy(outcome("failed", rule)), rule).toBe("bench");
    expect(endedBy(outcome("failed", null))).toBe("bench");
    for (const rule of ["front-panel", "operator"] as const)
      expect(endedBy(outcome("failed", rule)), rule).toBe("person");
    expect(endedBy(outcome("stopped-by-person", "operator"))).toBe("person");
  });
});

test("each such end is one sentence that says what to do", () => {
  for (const rule of TripRule.options)
    for (const by of ["bench", "person"] as const) {
      const sentence = nothingLearned({ ...outcome("failed", rule), endedBy: by });
      expect(sentence, rule).toMatch(/^Nothing was learned about the board; [a-z][^.]*\.$/);
    }
  expect(nothingLearned({ ...outcome("failed", "stale"), endedBy: "bench" })).toContain("close other programs");
  expect(nothingLearned({ ...outcome("failed", "link-lost"), endedBy: "bench" })).toContain("check the cable");
});

test("a record made before it was told loads, and one that tells it loads", () => {
  expect(RunOutcome.safeParse(outcome("failed", "stale")).success).toBe(true);
  expect(RunOutcome.safeParse({ ...outcome("failed", "stale"), endedBy: "bench" }).success).toBe(true);
  expect(RunOutcome.safeParse({ ...outcome("failed", "stale"), endedBy: "nobody" }).success).toBe(false);
});
