import { expect, test } from "vitest";
import { LastAnswers } from "../../src/daemon/page/last-answers.ts";

test("each instrument has its own last answer, and is silent only once it was asked in vain", () => {
  let nowMs = Date.parse("2026-11-25T11:49:03.000Z");
  const answers = new LastAnswers(() => nowMs);
  expect([answers.lastAt("dmm"), answers.silent("dmm")]).toEqual([null, false]);
  answers.heard("dmm");
  nowMs += 60_000;
  // Not asked for a minute, as during a run, is not gone.
  expect([answers.lastAt("dmm"), answers.silent("dmm")]).toEqual(["2026-11-25T11:49:03.000Z", false]);
  answers.missed("dmm");
  expect([answers.silent("dmm"), answers.silent("psu")]).toEqual([true, false]);
  answers.heard("dmm");
  expect(answers.silent("dmm")).toBe(false);
});
